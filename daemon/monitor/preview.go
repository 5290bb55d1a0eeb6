package monitor

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

const (
	// PreviewDays is how much of the past a preview lives through, where it is
	// not asked for less: a month.
	PreviewDays = 30
	// previewMost is how many sets of limits one preview compares.
	previewMost = 4
	// previewPart is how much of the past is read and lived through at a time:
	// 20 probes' readings of it, every ten seconds, are some 3 MB.
	previewPart = 6 * time.Hour
	// previewBudget is how long a preview may take; what it has found by then
	// is its answer. A phone waits no longer.
	previewBudget = 25 * time.Second
)

// A PreviewQuestion asks how often a rule would have told of a place, or of a
// probe, with each of some sets of limits.
type PreviewQuestion struct {
	Rule    string
	Subject string            // id of the place, or of the probe where the rule is about those
	Limits  []book.LimitsData // of the subject's place; at most previewMost
	Days    int               // how far back, at most PreviewDays; zero: that
}

// A Preview is what would have been told from From to To.
type Preview struct {
	Rule    alerts.Rule
	Subject string
	From    time.Time
	To      time.Time
	Whole   bool          // To is now; false: there was no time for the rest
	Known   time.Duration // how much of that the rule had a value to go by
	Night   *time.Location
	Fired   [][]Firing // by the question's limits, each oldest first
	// Caveats are sentences on what is only nearly as it was.
	Caveats []string
}

// Month gives how many firings a month of 30 days has, at this rate.
func (p Preview) Month(fired []Firing) float64 {
	if p.To.Sub(p.From) < time.Hour {
		return 0
	}
	return float64(len(fired)) * (30 * 24 * time.Hour).Hours() / p.To.Sub(p.From).Hours()
}

// Nights counts the firings that would have been told at night.
func (p Preview) Nights(fired []Firing) int {
	n := 0
	for _, f := range fired {
		if alerts.AtNight(f.Raised, p.Night) {
			n++
		}
	}
	return n
}

// Preview lives through the last days of a place once more, beside the
// tick, and gives what a rule would have told of it with other limits. One is
// made at a time. The error is a *Refusal, or that of a store that cannot be
// read, or of ctx.
func (m *Monitor) Preview(ctx context.Context, q PreviewQuestion) (Preview, error) {
	rule, ok := alerts.RuleFor(q.Rule)
	switch {
	case !ok:
		return Preview{}, &Refusal{Field: "rule", Text: fmt.Sprintf("there is no rule %q", q.Rule)}
	case !Rehearsable(rule):
		return Preview{}, &Refusal{Field: "rule", Text: "this rule compares no stored value with a limit: " +
			"what it would have told cannot be worked out from the readings"}
	case q.Days < 0 || q.Days > PreviewDays:
		return Preview{}, &Refusal{Field: "days", Text: fmt.Sprintf("ask about 1 to %d days", PreviewDays)}
	case len(q.Limits) == 0 || len(q.Limits) > previewMost:
		return Preview{}, &Refusal{Field: "limits", Text: fmt.Sprintf("ask about 1 to %d sets of limits", previewMost)}
	}
	if !m.previewing.CompareAndSwap(false, true) {
		return Preview{}, &Refusal{Text: "the past is being lived through for someone else: ask again in a few seconds"}
	}
	defer m.previewing.Store(false)
	r, err := m.rehearse(rule, q)
	if err == nil {
		r.away, err = m.gapsIn(ctx, span{r.next, r.end})
	}
	if err != nil {
		return Preview{}, err
	}
	return m.run(ctx, r)
}

// gapsIn gives the stretches of a span in which nobody was watching, as the
// starts after them told: then a probe was not silent, nobody listened.
func (m *Monitor) gapsIn(ctx context.Context, s span) ([]span, error) {
	past, err := m.Past(ctx, s.from, s.to)
	if err != nil {
		return nil, err
	}
	var out []span
	for _, a := range past {
		if a.Rule == "away" && a.Value != nil {
			out = append(out, span{a.Raised.Add(-time.Duration(*a.Value * float64(time.Second))), a.Raised})
		}
	}
	return out, nil
}

// Rehearsable reports whether a rule can be previewed: it compares what a
// place's probes said, or how long one was silent, with a limit.
func Rehearsable(r alerts.Rule) bool {
	return r.About == alerts.PlaceSubject && r.Limit.Base != alerts.NoLimit || r.Code == "stale"
}

// Judges reports whether a rule is about places like this one, as it is now.
func Judges(r alerts.Rule, p PlaceNow) bool { return judged(r, p) }

// Allowed says why the room would not take an entry; nil: it would. The error
// is a *Refusal.
func Allowed(b *book.State, e book.Entry) error {
	if err := book.Check(b, e); err != nil {
		return refuse(err)
	}
	return allowed(e)
}

// rehearse makes a rehearsal of what is known now.
func (m *Monitor) rehearse(rule alerts.Rule, q PreviewQuestion) (*rehearsal, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	place := q.Subject
	if rule.About == alerts.ProbeSubject {
		at, _ := placement(m.book, q.Subject, m.clock.now)
		place = at.Stay.Place
	}
	switch {
	case m.book.Places[place] == nil:
		return nil, &Refusal{Field: "place", Text: fmt.Sprintf("%.40q is no place, and no probe in one", q.Subject)}
	case !m.clock.trusted:
		return nil, &Refusal{Text: "the clock is not set yet: nobody can say which 30 days are the last ones"}
	}
	lone := New(Options{
		Site: m.opt.Site, Zone: m.opt.Zone, Ensemble: m.opt.Ensemble, Log: m.opt.Log, Quiet: true,
	})
	lone.clock.trusted = true
	r := &rehearsal{m: lone, telling: book.Tell(m.entries), rule: rule, subject: q.Subject}
	for _, l := range q.Limits {
		l.Place = place
		r.trials = append(r.trials, &trial{limits: l, states: map[string]alerts.State{}})
	}
	now := m.clock.now.Truncate(tickStep)
	r.from = now.AddDate(0, 0, -cmp.Or(q.Days, PreviewDays))
	r.step = m.meetIn(r, span{r.from, now})
	r.rules, r.in = besides(m.rules, rule)
	lead := 2*trailFor + rule.OnDelay
	if r.in["heating-early"] || r.in["cooling-early"] {
		lead = swingKnown
	}
	r.next, r.end = r.from.Add(-lead), now
	return r, nil
}

// besides gives a rule and those whose message may say the same before it, in
// the order that they are judged in.
func besides(all []alerts.Rule, rule alerts.Rule) (out []alerts.Rule, in map[string]bool) {
	in = map[string]bool{rule.Code: true}
	for grows := true; grows; {
		grows = false
		for _, r := range all {
			for _, b := range r.Behind {
				if in[r.Code] && !in[b.Rule] {
					in[b.Rule], grows = true, true
				}
			}
		}
	}
	return slices.DeleteFunc(slices.Clone(all), func(r alerts.Rule) bool { return !in[r.Code] }), in
}

// swingKnown is how long before its stretch a rehearsal begins that has to know
// what a place usually swings between, and how its shelf differs.
const swingKnown = 3 * 24 * time.Hour

// tickStep is the beat of the tick, and of a rehearsal of probes that speak as
// often.
const tickStep = 10 * time.Second

// meetIn makes the rehearsal know every probe that told of its places in a
// span, and gives the beat it needs.
func (m *Monitor) meetIn(r *rehearsal, s span) time.Duration {
	near := map[string]bool{r.trials[0].limits.Place: true}
	for before := 0; before < len(near); {
		before = len(near)
		for id := range maps.Clone(near) {
			for _, stay := range m.book.Places[id].Stays {
				if m.book.Places[stay.Place] != nil {
					near[stay.Place] = true
				}
			}
		}
	}
	for _, id := range unmeasured(m.book, slices.Collect(maps.Keys(near)), s.to) {
		near[id] = true
	}
	step := staleLeast
	for _, at := range m.book.Placements {
		if !near[at.Stay.Place] || !at.Stay.To.IsZero() && at.Stay.To.Before(s.from) {
			continue
		}
		p := r.m.probeState(at.Probe, s.from)
		if live := m.probes[at.Probe]; live != nil {
			p.probe = live.probe
		}
		step = min(step, max(p.probe.Interval, tickStep))
	}
	return step.Truncate(tickStep)
}

// run lives through a rehearsal, part by part, until its end or for as long as
// there is time.
func (m *Monitor) run(ctx context.Context, r *rehearsal) (Preview, error) {
	out := Preview{
		Rule: r.rule, Subject: r.subject, From: r.from, Night: m.zone, Whole: true,
		Caveats: caveats(r),
	}
	probes := make([]string, 0, len(r.m.probes))
	for id := range r.m.probes {
		probes = append(probes, id)
	}
	began := time.Now()
	for r.next.Before(r.end) {
		if err := ctx.Err(); err != nil {
			return Preview{}, fmt.Errorf("live through the last days: %w", err)
		}
		if time.Since(began) > previewBudget {
			out.Whole = false
			break
		}
		part := span{r.next.Add(-r.step), r.next.Add(previewPart)}
		if part.to.After(r.end) {
			part.to = r.end
		}
		said, err := m.saidIn(ctx, probes, part)
		if err != nil {
			return Preview{}, err
		}
		r.until(part.to, said)
	}
	out.To, out.Known = r.next, r.known
	for _, t := range r.trials {
		out.Fired = append(out.Fired, t.fired)
	}
	return out, nil
}

// saidIn reads what probes said in a span. A damaged stretch is as good as a
// silent one: the live tick could not have known less.
func (m *Monitor) saidIn(ctx context.Context, probes []string, s span) (map[string][]incubation.Reading, error) {
	out := map[string][]incubation.Reading{}
	for _, id := range probes {
		for r, err := range m.opt.Store.Range(ctx, id, s.from.Add(time.Second), s.to) {
			if ctx.Err() != nil {
				return nil, fmt.Errorf("live through the last days: %w", ctx.Err())
			}
			if err == nil {
				out[id] = append(out[id], r)
			}
		}
	}
	return out, nil
}

// caveats says what of a rehearsal is only nearly as it was.
func caveats(r *rehearsal) []string {
	var out []string
	if r.rule.Code == offSetpoint {
		out = append(out, "While an egg's sex is being set the live limit shrinks to what matters to that egg. "+
			"Here it stays as wide as you set it, so more may have been told than this says.")
	}
	if r.in["heating-early"] || r.in["cooling-early"] {
		out = append(out, "What another box of the same incubator told first, and so for all, is not seen.")
	}
	if r.rule.Settles {
		out = append(out, "What was placed or set counts as the book has it today; an open door that only a contact "+
			"knew of does not.")
	}
	if r.rule.About == alerts.ProbeSubject {
		out = append(out, "Where a whole receiver or bus fell silent, one message told of all its probes; here "+
			"each counts.")
	}
	return out
}
