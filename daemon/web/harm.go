package web

import (
	"fmt"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A harmBlock tells of time outside the species' limits. It makes no chance of
// survival of it: nobody has measured that.
//
// Heat kills and has a box of its own. Nearly every egg is cold for its first
// night, in the lay box: that is a line among others.
type harmBlock struct{ Hot, Cold *harmLine }

type harmLine struct{ Says, Worst, Facts, Source string }

// Unpriced is said under every line.
func (harmLine) Unpriced() string { return incubation.Unpriced }

// harm tells what was measured; limits give what is published of each side.
// Nil where there is nothing to tell.
func (w words) harm(h *incubation.Harm, limits incubation.LimitSet) *harmBlock {
	if h == nil || !h.Any() {
		return nil
	}
	out := &harmBlock{}
	if x := h.Above; x.Minutes > 0 {
		out.Hot = w.excess(x, "above", "warmest", limits.High)
	}
	if x := h.Below; x.Minutes > 0 {
		out.Cold = w.excess(x, "below", "coldest", limits.Low)
	}
	return out
}

func (w words) excess(x incubation.Excess, side, farthest string, limit incubation.Number) *harmLine {
	amount := x.DegreeMinutes
	if w.fahrenheit {
		amount *= 1.8
	}
	l := &harmLine{
		Worst: fmt.Sprintf("%s %s %s", farthest, w.temp(x.Worst), w.Unit()),
		Says:  fmt.Sprintf("%s %s %s %s in all", lasting(x.Minutes), side, w.temp(x.Limit), w.Unit()),
		Facts: fmt.Sprintf("At most %s at a stretch; %s %s %s, about %s; %.0f degree-minutes.",
			lasting(x.Longest), farthest, w.temp(x.Worst), w.Unit(), w.moment(x.At), amount),
	}
	if limit.Source != "" {
		l.Source = fmt.Sprintf("This limit is %s: %s.", limit.Mark.Says(), w.cite(limit))
	}
	return l
}

func lasting(n float64) string {
	return alerts.Lasting(time.Duration(n * float64(time.Minute)).Round(time.Minute))
}

// cite gives a number's source in the visitor's unit.
func (w words) cite(n incubation.Number) string {
	return n.Cite(func(c incubation.Celsius) string { return plainly(w.degrees(c), 1) }, w.Unit())
}
