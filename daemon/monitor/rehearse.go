package monitor

import (
	"slices"
	"strconv"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A rehearsal lives through a place's past once more, as it would have been
// told with other limits. It has no clock, disk or network: it is given the
// book and what the probes said, and runs them through a monitor of its own,
// so that places are measured, watched, compared and judged by the very code
// of the tick.
type rehearsal struct {
	m       *Monitor // has no store, sampler or poster: it only judges
	telling *book.Telling
	rule    alerts.Rule
	rules   []alerts.Rule   // it, and those that speak before it
	in      map[string]bool // their codes
	subject string          // id of the place, or of the probe where the rule is about those
	trials  []*trial
	step    time.Duration
	next    time.Time // tick
	end     time.Time // of what is lived through
	from    time.Time // what was raised before is left out
	away    []span    // nobody was watching then

	places []string // that are looked at: what the subject stands in comes first
	eggs   map[string][]string
	seen   look // by this tick
	boxes  map[string][]PlaceNow
	out    outages
	stood  bool          // nobody was watching at the last tick
	known  time.Duration // how long there was a value, since from
	ids    uint64
}

// A trial is one set of limits, and what would have been told with it.
type trial struct {
	limits book.LimitsData
	states map[string]alerts.State
	causes *causes // of this tick; nil: nobody has asked yet
	fired  []Firing
}

// A Firing is one occurrence that would have been.
type Firing struct {
	Since, Raised time.Time
	Over          time.Time // when it would have been told no longer; zero: it lasts
	Severity      alerts.Severity
	Worst, Limit  *float64
}

// until lives on to the given time, with what the probes said up to then and
// have not said before: by probe, oldest first, as stored.
func (r *rehearsal) until(end time.Time, said map[string][]incubation.Reading) {
	for ; r.next.Before(end); r.next = r.next.Add(r.step) {
		r.tick(r.next, said)
	}
}

func (r *rehearsal) tick(now time.Time, said map[string][]incubation.Reading) {
	m := r.m
	m.clock.now = now
	if state, changed := r.telling.Before(now); changed {
		m.book = state
		r.turnPage(now)
	}
	if slices.ContainsFunc(r.away, func(s span) bool { return !now.Before(s.from) && now.Before(s.to) }) {
		r.stood = true
		return
	}
	if r.stood {
		r.restart(now)
	}
	r.hear(now, said)
	r.seen.probes, r.seen.places = m.probesNow(now), r.seen.places[:0]
	for _, id := range r.places {
		p := m.placeNow(now, m.book.Places[id], r.seen.probes)
		p.Eggs = r.eggs[id]
		r.seen.places = append(r.seen.places, p)
	}
	r.out = m.outagesOf(r.seen)
	// In the order of Monitor.judge.
	for i, t := range r.trials {
		r.take(t)
		t.causes = nil
		r.judgeEarly(t, i == 0)
	}
	for _, p := range r.seen.places {
		m.remember(p, r.seen.places, now)
	}
	r.boxes = boxesIn(r.seen.places)
	for i, t := range r.trials {
		r.take(t)
		for _, p := range r.seen.places {
			r.judgePlace(t, p, i == 0)
		}
		r.judgeProbe(t, i == 0)
	}
	r.stood = false
}

// take makes a trial's limits and alerts those of the room.
func (r *rehearsal) take(t *trial) {
	m := r.m
	m.book.Limits[t.limits.Place] = t.limits
	m.states = t.states
	for i := range r.seen.places {
		p := &r.seen.places[i]
		p.Limits = m.limitsAt(p.ID, m.clock.now)
	}
}

// unsaid stands for the text of an alert that nobody will read: a third of the
// time would go into writing it.
const unsaid = "-"

// turnPage brings what follows from the book up to date.
func (r *rehearsal) turnPage(now time.Time) {
	b := r.m.book
	place := r.subject
	if r.rule.About == alerts.ProbeSubject {
		at, _ := placement(b, r.subject, now)
		place = at.Stay.Place
	}
	r.places = nil
	for p := b.Places[place]; p != nil && len(r.places) < len(b.Places); p = b.Places[incubation.At(p.Stays, now)] {
		if !b.Gone[p.ID] {
			r.places = append(r.places, p.ID)
		}
	}
	slices.Reverse(r.places) // as everywhere, what others stand in first
	r.places = append(r.places, unmeasured(b, r.places, now)...)
	r.eggs = liveEggs(b, now)
	for _, at := range b.Placements {
		if at.Stay.Covers(now) && slices.Contains(r.places, at.Stay.Place) {
			r.m.probeState(at.Probe, now)
		}
	}
}

// unmeasured gives the boxes, beside those given, of the incubators among the
// places that no probe sits in: those are judged by all their boxes.
func unmeasured(b *book.State, places []string, now time.Time) []string {
	var out []string
	for _, in := range places {
		if b.Places[in].Kind != incubation.Incubator || len(b.ProbesIn(in, now)) > 0 {
			continue
		}
		for id, p := range b.Places {
			if p.Kind == incubation.Box && incubation.At(p.Stays, now) == in && !b.Gone[id] && !slices.Contains(places, id) {
				out = append(out, id)
			}
		}
	}
	slices.Sort(out)
	return out
}

// hear takes what the probes have said up to now, each with the quality that it
// was stored with; their streams are followed for when a step began.
func (r *rehearsal) hear(now time.Time, said map[string][]incubation.Reading) {
	for id, readings := range said {
		p, n := r.m.probes[id], 0
		for ; n < len(readings) && !readings[n].Time.After(now); n++ {
			if p != nil {
				_, _ = p.trusted.stream.Judge(p.probe, readings[n])
				r.m.notice(p, correct(r.m.book, readings[n]))
			}
		}
		said[id] = readings[n:]
	}
}

// restart does to what is remembered what a start of the program does.
func (r *rehearsal) restart(now time.Time) {
	for id, p := range r.m.probes {
		delete(r.m.probes, id)
		r.m.probeState(id, now).probe = p.probe
	}
	clear(r.m.watch)
	for _, t := range r.trials {
		for id, s := range t.states {
			t.states[id] = s.Pause(now.Add(-r.step))
		}
	}
}

// judgeEarly judges the rules that see a limit coming, where one of them is
// asked about or speaks before the one that is.
func (r *rehearsal) judgeEarly(t *trial, first bool) {
	if !r.in["heating-early"] && !r.in["cooling-early"] {
		return
	}
	r.m.ofEarly(r.seen.places, r.m.clock.now, func(rule alerts.Rule, o alerts.Observation) {
		if o.Text = unsaid; r.in[rule.Code] {
			r.judge(t, rule, o, true)
			r.count(o.Known && r.asks(rule, o), first)
		}
	})
}

// judgePlace judges a place by the rule and by those that speak before it.
func (r *rehearsal) judgePlace(t *trial, p PlaceNow, first bool) {
	base := r.m.seenOf(p, r.m.clock.now)
	base.Text = unsaid
	for _, rule := range r.m.rulesAt(p.ID) {
		if !r.in[rule.Code] || rule.About != alerts.PlaceSubject || rule.Limit.Base == alerts.Given {
			continue
		}
		o, ok := r.m.ofPlace(rule, p, r.boxes[p.ID], base)
		r.judge(t, rule, o, ok)
		r.count(ok && o.Known && r.asks(rule, o), first)
	}
}

// judgeProbe judges the probe that is asked about.
func (r *rehearsal) judgeProbe(t *trial, first bool) {
	for _, p := range r.seen.probes {
		if r.rule.About == alerts.ProbeSubject && p.ID == r.subject {
			o, ok := r.m.ofProbe(p, bySource(r.seen.probes)[p.Through], r.eggs[p.Place], r.m.clock.now)
			o.Text = unsaid
			r.judge(t, r.rule, o, ok)
			r.count(ok, first)
		}
	}
}

// asks reports whether an observation is of the alert that is asked about.
func (r *rehearsal) asks(rule alerts.Rule, o alerts.Observation) bool {
	return rule.Code == r.rule.Code && o.Subject.ID == r.subject
}

// count adds a tick to the time of which something is known.
func (r *rehearsal) count(known, first bool) {
	if known && first && !r.m.clock.now.Before(r.from) {
		r.known += r.step
	}
}

// judge gives an alert of the trial its next state.
func (r *rehearsal) judge(t *trial, rule alerts.Rule, o alerts.Observation, ok bool) {
	id, now := alerts.AlertID(rule.Code, o.Subject), r.m.clock.now
	before, had := t.states[id]
	rule, on := r.m.ruleFor(rule, o.Subject)
	ok = ok && on && !r.out.silence(rule, o.Subject)
	if !had && !(ok && rule.Begins(o)) {
		return // as it was: nearly every time
	}
	o.NewID = func() string { r.ids++; return strconv.FormatUint(r.ids, 36) }
	after, reason := before, alerts.ReasonStill
	if t.causes == nil {
		t.causes = r.m.causesOf(r.seen, now)
	}
	if ok {
		o.Causes = t.causes.before(rule, o.Subject)
		after, reason = alerts.Judge(rule, before, o, now)
		t.causes.saw(after, o)
	} else {
		after, reason = alerts.Withdraw(rule, before, now)
	}
	if after.Latched {
		// Nobody is there to see it: taken as seen as soon as it is over.
		after, _, _ = alerts.Acknowledge(after, after.Occurrence, "", now)
	}
	if t.states[id] = after; !after.Lingers() {
		delete(t.states, id)
	}
	if r.asks(rule, o) {
		t.note(after, reason, r.from, now)
	}
}

// note keeps what would have been told.
func (t *trial) note(s alerts.State, reason alerts.Reason, from, now time.Time) {
	if reason == alerts.ReasonRaised && !now.Before(from) {
		t.fired = append(t.fired, Firing{Since: s.Since, Raised: s.Raised})
	}
	if len(t.fired) == 0 {
		return
	}
	f := &t.fired[len(t.fired)-1]
	if !f.Over.IsZero() || !f.Raised.Equal(s.Raised) {
		return
	}
	f.Severity, f.Worst, f.Limit = s.Severity, s.Value, s.Limit
	if !s.Told() {
		f.Over = now
	}
}
