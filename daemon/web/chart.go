package web

import (
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

// An excursion is a stretch outside a limit, to the width of a column.
type excursion struct {
	From  time.Time          `json:"from"`
	To    time.Time          `json:"to"`
	Worst incubation.Celsius `json:"worst_celsius"`
}

// A fence is what a value should stay within, and since when; a nil limit is
// none.
type fence struct {
	low, high *incubation.Celsius
	since     time.Time
}

// excursions finds the stretches in which a value lay outside. A gap ends a
// stretch; a column that is only narrower than the steps between readings
// does not.
func excursions(r record, f fence) []excursion {
	var out []excursion
	open := false
	width, low, high := r.Width, f.low, f.high
	for _, k := range r.Columns {
		if k.N == 0 {
			open = open && !covered(r.Gaps, k.Time.Add(width/2))
			continue
		}
		worst, outside := beyond(k, low, high)
		if !outside || k.Time.Before(f.since) {
			open = false
			continue
		}
		if !open {
			out = append(out, excursion{From: k.Time, Worst: worst})
		}
		e := &out[len(out)-1]
		e.To = k.Time.Add(width)
		if high != nil && worst > max(*high, e.Worst) || low != nil && worst < min(*low, e.Worst) {
			e.Worst = worst
		}
		open = true
	}
	return out
}

func covered(gaps []review.Span, t time.Time) bool {
	return slices.ContainsFunc(gaps, func(g review.Span) bool {
		return !t.Before(g.From) && t.Before(g.To)
	})
}

func beyond(k review.Point, low, high *incubation.Celsius) (incubation.Celsius, bool) {
	switch {
	case high != nil && k.High > *high:
		return k.High, true
	case low != nil && k.Low < *low:
		return k.Low, true
	}
	return 0, false
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
