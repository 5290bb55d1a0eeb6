package monitor

import (
	"context"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// estimateBudget is how many clutches are estimated in one tick: a tick stays
// short on a small Pi, and twenty clutches are through in under four minutes.
const estimateBudget = 1

// Tick is one round: read, fold, judge, hand on, publish. It waits for
// nothing but the processor.
func (m *Monitor) Tick(ctx context.Context, at Instant) {
	began := time.Now()
	outcomes := m.opt.Sampler.Sample(ctx, at.Wall)
	known := m.opt.Sampler.Probes()

	m.mu.Lock()
	defer m.mu.Unlock()
	shift, gained := m.clock.advance(at)
	if gained {
		m.trust(shift, at)
	}
	now := m.clock.now
	m.meet(known, now)
	m.take(outcomes, at)
	if m.clock.trusted && !m.quiet {
		m.fold(now)
		m.estimate(now, estimateBudget)
	}
	seen := m.look(now)
	m.judge(now, seen)
	if minute := now.Unix() / 60; minute != m.flushed && !m.quiet {
		m.flushed = minute
		m.commit.flushDue()
	}
	m.ticks++
	if m.started.IsZero() {
		m.started = now
	}
	if !m.quiet {
		m.publish(now, seen, time.Since(began))
	}
}

// meet learns of probes that are new, and of changes to known ones.
func (m *Monitor) meet(known []sensors.Probe, now time.Time) {
	for _, p := range known {
		if have := m.probes[p.ID]; have != nil {
			have.probe = p
			continue
		}
		m.probes[p.ID] = &probeState{probe: p, seen: now, faults: map[sensors.Cause]uint64{}}
	}
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
		p.fault = ""
		if !m.clock.trusted {
			p.latest = correct(m.book, r)
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
		p.latest = r
	}
	if r.Has&incubation.Temperature == 0 || m.quiet {
		return
	}
	if b, ok := p.aligner.Add(r); ok {
		m.eggs.closed(b, p.probe)
	}
}

// trust is called when the clock has become trusted: provisional times are
// moved, what was staged under this boot gets its time, and eggs are replayed
// from a history that is whole.
func (m *Monitor) trust(shift time.Duration, at Instant) {
	now := m.clock.now
	provisional := now.Add(-shift)
	for _, p := range m.probes {
		p.seen = p.seen.Add(shift)
		if !p.latest.Time.IsZero() {
			p.latest.Time = p.latest.Time.Add(shift)
		}
	}
	for id, s := range m.states {
		if !m.started.IsZero() && !s.Since.Before(m.started) {
			m.states[id] = s.Shift(shift)
		}
	}
	for _, w := range m.watch {
		w.shift(shift)
	}
	if !m.started.IsZero() {
		m.started = m.started.Add(shift)
		m.opt.Log.Info("clock trusted", "was", provisional, "now", now)
	}
	m.findAway(now)
	m.eggs.folded = now.Truncate(incubation.BlockLength)
	booted := m.clock.booted(at)
	m.commit.flushDue()
	m.commit.ask("staged readings", func(ctx context.Context) error {
		return m.settle(ctx, at.Boot, booted)
	})
	for id := range m.book.Eggs {
		m.eggs.want(id)
	}
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
