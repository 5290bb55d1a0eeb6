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
	subject string // id of the place, or of the probe where the rule is about those
	trials  []*trial
	step    time.Duration
	next    time.Time // tick
	end     time.Time // of what is lived through
	from    time.Time // what was raised before is left out
	away    []span    // nobody was watching then

	places []string // that are looked at: what the subject stands in comes first
	eggs   map[string][]string
	seen   look          // by this tick
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
	probes := m.probesNow(now)
	var places []PlaceNow
	for _, id := range r.places {
		p := m.placeNow(now, m.book.Places[id], probes)
		p.Eggs = r.eggs[id]
		places = append(places, p)
	}
	for _, p := range places {
		m.remember(p, places, now)
	}
	base := make([]alerts.Observation, len(places))
	for i, p := range places {
		base[i] = m.seenOf(p, now)
		base[i].Text = unsaid
	}
	for i, t := range r.trials {
		m.book.Limits[t.limits.Place] = t.limits
		m.states = t.states
		t.causes, r.seen = nil, look{probes: probes, places: places}
		for j, p := range places {
			r.judgePlace(t, p, base[j], i == 0)
		}
		for _, p := range probes {
			if r.rule.About == alerts.ProbeSubject && p.ID == r.subject {
				o, ok := m.ofProbe(p, r.eggs[p.Place], now)
				r.judge(t, r.rule, o, ok)
				r.count(ok, i == 0)
			}
		}
	}
	r.stood = false
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
	if p := b.Places[place]; p != nil {
		in := incubation.At(p.Stays, now)
		if b.Places[in] != nil && !b.Gone[in] {
			r.places = append(r.places, in)
		}
		if !b.Gone[place] {
			r.places = append(r.places, place)
		}
	}
	r.eggs = liveEggs(b, now)
	for _, at := range b.Placements {
		if at.Stay.Covers(now) && slices.Contains(r.places, at.Stay.Place) {
			r.m.probeState(at.Probe, now)
		}
	}
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

// judgePlace judges a place by the rule and by those that speak before it.
func (r *rehearsal) judgePlace(t *trial, p PlaceNow, base alerts.Observation, first bool) {
	for _, rule := range r.m.rules {
		if rule.About != alerts.PlaceSubject {
			continue
		}
		o, ok := r.m.ofPlace(rule, p, base)
		r.judge(t, rule, o, ok)
		if rule.Code == r.rule.Code && p.ID == r.subject {
			r.count(ok && o.Known, first)
		}
	}
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
	if rule.Code == r.rule.Code && o.Subject.ID == r.subject {
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
