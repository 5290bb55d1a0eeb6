package review

import (
	"cmp"
	"math"
	"slices"
	"time"

	"clutchd/incubation"
)

// egg tells one egg's life.
func (a Asked) egg(laid Laid, e *incubation.Egg, record int) Egg {
	out := Egg{
		ID: e.ID, Mark: e.Mark, State: e.State, Record: record, Cause: e.Cause,
		Pipped: e.PippedAt.UTC(), Ended: e.Ended.UTC(), AliveAt: e.AliveAt.UTC(),
		Sex: e.Sex, SexHow: e.Sexed.How, SexTime: e.Sexed.At.UTC(),
		Course: []Forecast{}, Doubts: []Doubt{}, Candlings: []Candling{}, Looks: []Look{},
		Weights: []Weight{}, Young: []Weight{}, Milestones: []Milestone{},
	}
	end := a.Now
	if !e.Live() && !e.Ended.IsZero() {
		end = e.Ended
	}
	out.Days = thousandths(laid.DayOf(end))
	a.told(&out, e)
	if a.Estimate != nil {
		out.Estimate = a.Estimate(e.ID)
	}
	return out
}

// told is what was written down of an egg and its hatchling.
func (a Asked) told(out *Egg, e *incubation.Egg) {
	for _, c := range e.Candlings {
		out.Candlings = append(out.Candlings, Candling{c.At.UTC(), c.Seen, c.Shows})
	}
	for _, l := range e.Looks {
		out.Looks = append(out.Looks, lookOf(l))
	}
	for _, w := range e.Weights {
		if e.State == incubation.Hatched && !w.At.Before(e.Ended) {
			out.Young = append(out.Young, Weight{w.At.UTC(), w.Grams})
		} else {
			out.Weights = append(out.Weights, Weight{w.At.UTC(), w.Grams})
		}
	}
	for _, m := range e.Milestones {
		out.Milestones = append(out.Milestones, Milestone{
			m.At.UTC(), m.What, thousandths(m.At.Sub(e.Ended).Hours() / 24),
		})
	}
}

// against holds a hatch against what the estimate said. A window's ends are
// days of the room's calendar: a hatch is found when somebody looks.
func (a Asked) against(e *incubation.Egg, n incubation.Estimate) *Against {
	out := &Against{Male: n.Sex.MaleProbability}
	if e.Sexed.How.Seen() {
		out.Sex, out.How, out.Expected = e.Sex, e.Sexed.How, n.Sex.MaleProbability
		if e.Sex == incubation.Female {
			out.Expected = 1 - n.Sex.MaleProbability
		}
	}
	if n.Hatch.Likely.IsZero() {
		return out
	}
	out.LateDays = thousandths(e.Ended.Sub(n.Hatch.Likely).Hours() / 24)
	out.CalendarDays = a.midnights(n.Hatch.Likely, e.Ended)
	out.Inside = a.midnights(n.Hatch.Earliest, e.Ended) >= 0 &&
		(n.Hatch.Latest.IsZero() || a.midnights(n.Hatch.Latest, e.Ended) <= 0)
	return out
}

// midnights is how many lie between two times in the room's zone; below 0 if b
// comes first.
func (a Asked) midnights(x, y time.Time) int {
	date := func(t time.Time) time.Time {
		y, m, d := t.In(a.Zone).Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(math.Round(date(y).Sub(date(x)).Hours() / 24))
}

// doubts weighs what made an estimate less sure.
func doubts(n incubation.Estimate, each []incubation.Narrowing) []Doubt {
	out := []Doubt{}
	long := func(h incubation.HatchSpan) float64 {
		if h.Latest.IsZero() || h.Earliest.IsZero() {
			return 0
		}
		return h.Latest.Sub(h.Earliest).Hours() / 24
	}
	for _, w := range each {
		d := Doubt{Without: w.Without}
		d.Points = max(0, thousandths(100*((n.Sex.High-n.Sex.Low)-(w.Sex.High-w.Sex.Low))))
		if long(w.Hatch) > 0 {
			d.Days = max(0, thousandths(long(n.Hatch)-long(w.Hatch)))
		}
		if d.Points >= 0.5 || d.Days >= 0.25 {
			out = append(out, d)
		}
	}
	slices.SortStableFunc(out, func(x, y Doubt) int {
		return cmp.Or(cmp.Compare(y.Points, x.Points), cmp.Compare(y.Days, x.Days))
	})
	return out
}
