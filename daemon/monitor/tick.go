package monitor

import (
	"context"
	"maps"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// estimateBudget is how long a tick may estimate; one clutch is always done. A
// tick stays short on a small Pi, and a room is through soon after a start.
const estimateBudget = 250 * time.Millisecond

// Tick is one round: read, fold, judge, hand on, publish. It waits for
// nothing but the processor.
func (m *Monitor) Tick(ctx context.Context, at Instant) {
	began := time.Now()
	outcomes := m.opt.Sampler.Sample(ctx, at.Wall)
	known := m.opt.Sampler.Probes()

	m.mu.Lock()
	defer m.mu.Unlock()
	if shift, set := m.clock.advance(at); set {
		m.trust(shift, at)
	}
	now := m.clock.now
	m.meet(known, now)
	m.take(outcomes, at)
	m.takeContacts(ctx, at)
	if m.clock.trusted && !m.quiet {
		m.fold(now)
		m.estimate(now)
	}
	m.keepCompany(now)
	seen := m.look(now)
	m.judge(now, seen)
	if minute := now.Unix() / 60; minute != m.flushed && !m.quiet {
		m.flushed = minute
		m.commit.flushDue()
	}
	m.backUp(now)
	m.dropOld(now)
	m.ticks++
	if m.started.IsZero() {
		m.started = now
	}
	if !m.quiet {
		m.publish(now, seen, time.Since(began))
	}
}

// meet learns of probes that are new, and of changes to known ones. One that
// the book has in a place counts from the start, found or not: a sensor that
// does not come back after a power cut must not be missing in silence.
func (m *Monitor) meet(known []sensors.Probe, now time.Time) {
	for _, p := range known {
		s := m.probeState(p.ID, now)
		s.probe, s.found = p, true
	}
	for _, at := range m.book.Placements {
		if at.Stay.Covers(now) {
			m.probeState(at.Probe, now)
		}
	}
}

func (m *Monitor) probeState(id string, now time.Time) *probeState {
	s := m.probes[id]
	if s == nil {
		s = &probeState{
			probe: sensors.Probe{ID: id}, seen: now, faults: map[sensors.Cause]uint64{}, aligner: m.aligner(),
		}
		m.probes[id] = s
	}
	return s
}

// aligner makes blocks that tell what of them lay outside the species' limits.
func (m *Monitor) aligner() incubation.Aligner {
	return incubation.Aligner{Limits: m.opt.Ensemble.Profile.Limits}
}

// take turns outcomes into what the probes say now, and into what is kept.
func (m *Monitor) take(outcomes []sensors.Outcome, at Instant) {
	var timed []incubation.Reading
	var untimed []incubation.Untimed
	for _, o := range outcomes {
		p := m.probes[o.Probe]
		if p == nil {
			continue
		}
		if o.Fault != nil {
			p.fault = o.Fault.Cause
			p.faults[o.Fault.Cause]++
			continue
		}
		r := o.Reading
		r.Probe = o.Probe
		m.clock.stamp(&r, o.Time, at)
		if fault := p.doubt(&r); fault != nil {
			p.fault = fault.Cause
			p.faults[fault.Cause]++
			continue
		}
		p.fault = ""
		if !m.clock.trusted {
			p.hear(correct(m.book, r))
			untimed = append(untimed, m.clock.untimed(r, at))
			continue
		}
		timed = append(timed, r)
		m.notice(p, correct(m.book, r))
	}
	m.commit.read(timed, untimed)
}

// notice takes a corrected reading into the probe's state and its blocks.
func (m *Monitor) notice(p *probeState, r incubation.Reading) {
	if !r.Time.Before(p.latest.Time) {
		p.hear(r)
	}
	if r.Has&incubation.Temperature == 0 || m.quiet {
		return
	}
	if b, ok := p.aligner.Add(r); ok {
		m.eggs.closed(b, p.probe)
	}
}

// trust is called when the clock has become trusted or was set ahead: what was
// timed by the old one is moved, what was staged under this boot gets its
// time, and eggs are replayed from a history that is whole.
func (m *Monitor) trust(shift time.Duration, at Instant) {
	now := m.clock.now
	if !m.started.IsZero() {
		m.move(shift)
		m.opt.Log.Info("clock set", "was", now.Add(-shift), "now", now)
	}
	m.date(shift)
	m.findAway(now)
	booted := m.clock.booted(at)
	m.commit.flushDue()
	m.commit.ask("staged readings", func(ctx context.Context) error {
		return m.settle(ctx, at.Boot, booted)
	})
	m.anew(now)
}

// move moves what was timed since the start. Blocks that are open or kept
// carry the old times: the history is asked instead.
func (m *Monitor) move(shift time.Duration) {
	for _, p := range m.probes {
		p.seen = p.seen.Add(shift)
		if !p.latest.Time.IsZero() {
			p.latest.Time = p.latest.Time.Add(shift)
		}
		p.trusted.shift(shift)
		p.aligner = m.aligner()
	}
	for _, c := range m.contacts {
		c.shift(shift)
	}
	for id, s := range m.states {
		m.states[id] = s.ShiftSince(m.started, shift)
	}
	m.flood.Shift(m.started, shift)
	for _, w := range m.watch {
		w.shift(shift)
	}
	for _, c := range m.courses {
		c.shift(shift)
	}
	m.started = m.started.Add(shift)
	m.company = time.Time{}
}

// anew has everything that rests on the record read again from the history.
func (m *Monitor) anew(now time.Time) {
	m.eggs.begin(now)
	m.relearn, m.forgotten = true, true
	m.eggs.teach()
	m.eggs.want(slices.Collect(maps.Keys(m.book.Eggs))...)
}

// settle gives the staged readings of this boot their time; those that still
// wait in memory are staged first.
func (m *Monitor) settle(ctx context.Context, boot string, booted time.Time) error {
	m.commit.flushNow()
	if err := m.commit.commitReadings(ctx); err != nil {
		return err
	}
	n, err := m.opt.Store.Settle(ctx, boot, booted)
	if n > 0 {
		m.opt.Log.Info("readings given their time", "readings", n, "booted", booted)
	}
	return err
}
