package web

import (
	"fmt"
	"strings"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

// reviewRows are the facts of each egg, side by side; one of which nothing is
// known of any egg is left out.
func (w words) reviewRows(r review.Review) []reviewRow {
	facts := []struct {
		name string
		of   func(review.Egg) string
	}{
		{"What came of it", func(e review.Egg) string { return w.cameOf(r, e) }},
		{"Hatch, as estimated", w.hatchSaid},
		{"Hatch, as it came", w.late},
		{"Sex, as estimated", sexSaid},
		{"Sex, as seen", w.sexSeen},
		{"Development", func(e review.Egg) string {
			if e.Estimate == nil {
				return ""
			}
			d := e.Estimate.Development
			return percent(d.Fraction) + " (" + between(d.Low, d.High) + ")"
		}},
		{"TSP, opened to closed", func(e review.Egg) string { return w.tspSpan(r, e) }},
		{"CTE", func(e review.Egg) string {
			if e.Estimate == nil || e.Estimate.CTE == nil {
				return ""
			}
			c := e.Estimate.CTE
			return fmt.Sprintf("%s"+nbsp+"%s (%s–%s)", w.temp(c.Value), w.Unit(), w.temp(c.Low), w.temp(c.High))
		}},
		{"The sex rests on", func(e review.Egg) string {
			if e.Estimate == nil {
				return ""
			}
			return restsOn(e.Estimate.Basis, e.Live())
		}},
		{"Wider by", doubtsSay},
		{"Hatchling", w.youngSays},
	}
	var out []reviewRow
	for _, f := range facts {
		row := reviewRow{Name: f.name}
		known := false
		for _, e := range r.Eggs {
			text := f.of(e)
			known = known || text != ""
			row.Cells = append(row.Cells, text)
		}
		if known {
			row.One = same(row.Cells)
			out = append(out, row)
		}
	}
	return out
}

// same gives what all of several cells say, "" if they differ or are one.
func same(cells []string) string {
	if len(cells) < 2 {
		return ""
	}
	for _, c := range cells[1:] {
		if c != cells[0] {
			return ""
		}
	}
	return cells[0]
}

func (w words) cameOf(r review.Review, e review.Egg) string {
	switch e.State {
	case incubation.Hatched:
		return "hatched " + w.day(e.Ended) + ", " + dayWord(r.Laid.Middle(), e.Ended)
	case incubation.Failed:
		return because("lost "+w.day(e.Ended)+", "+dayWord(r.Laid.Middle(), e.Ended), e.Cause)
	case incubation.Pipped:
		return "pipped " + w.day(e.Pipped) + ", " + dayWord(r.Laid.Middle(), e.Pipped)
	}
	return "incubating, " + dayWord(r.Laid.Middle(), r.Made)
}

func (w words) hatchSaid(e review.Egg) string {
	if e.Estimate == nil || e.Estimate.Hatch.Likely.IsZero() {
		return ""
	}
	h := e.Estimate.Hatch
	return "likely " + w.day(h.Likely) + " (" + percent(h.Probability) + ": " + w.days(h.Earliest, h.Latest) + ")"
}

func (w words) late(e review.Egg) string {
	a := e.Against
	if a == nil || e.Estimate.Hatch.Likely.IsZero() {
		return ""
	}
	text := "on the likeliest day"
	switch n := a.CalendarDays; {
	case n == 1 || n == -1:
		text = "a day " + sooner(n) + " than likeliest"
	case n != 0:
		text = fmt.Sprintf("%d days %s than likeliest", max(n, -n), sooner(n))
	}
	if !a.Inside {
		return text + ", outside the window"
	}
	return text + ", inside the window"
}

func sexSaid(e review.Egg) string {
	if e.Estimate == nil {
		return ""
	}
	s := e.Estimate.Sex
	return s.Words + ": male " + share(s.MaleProbability) + " (" + between(s.Low, s.High) + ")"
}

func (w words) sexSeen(e review.Egg) string {
	switch e.SexHow {
	case incubation.AtHatch:
		return e.Sex + ", seen the day it hatched"
	case incubation.ByAnatomy:
		return e.Sex + ", looked at " + w.day(e.SexTime)
	case incubation.ByTemperature:
		return "not looked at (labelled " + e.Sex + " by temperature)"
	}
	if e.State == incubation.Hatched {
		return "not looked at"
	}
	return ""
}

// tspSpan tells when the TSP opened and closed, each with its 5 and 95 %
// points.
func (w words) tspSpan(r review.Review, e review.Egg) string {
	if e.TSP == nil {
		return ""
	}
	return w.tspEnd(r, e.TSP.Opens) + " to " + w.tspEnd(r, e.TSP.Closes)
}

func (w words) tspEnd(r review.Review, t review.TimeSpan) string {
	if t.Likely.IsZero() {
		return "never as things stand"
	}
	return fmt.Sprintf("%s, %s (%s)", w.day(t.Likely), dayWord(r.Laid.Middle(), t.Likely), w.days(t.Low, t.High))
}

// doubtsSay tells what would have made the estimate surer.
func doubtsSay(e review.Egg) string {
	var out []string
	for _, d := range e.Doubts[:min(3, len(e.Doubts))] {
		var by []string
		if d.Points >= 0.5 {
			by = append(by, fmt.Sprintf("%.1f points of the sex", d.Points))
		}
		if d.Days >= 0.25 {
			by = append(by, fmt.Sprintf("%.1f days of the hatch", d.Days))
		}
		out = append(out, doubtWord(d.Without)+" "+strings.Join(by, " and "))
	}
	return strings.Join(out, "; ")
}

func doubtWord(d incubation.Doubt) string {
	switch d {
	case incubation.OfProbe:
		return "the probe's error:"
	case incubation.OfPosition:
		return "where the probe lay:"
	case incubation.OfGaps:
		return "gaps:"
	case incubation.OfPlan:
		return "what is to come:"
	case incubation.OfLaying:
		return "when they were laid:"
	}
	return string(d) + ":"
}

// youngSays tells the hatchling's weights, first and last, and its firsts.
func (w words) youngSays(e review.Egg) string {
	var out []string
	for i, x := range e.Young {
		if i == 0 || i == len(e.Young)-1 {
			out = append(out, gramsWord(x.Grams)+" on "+w.day(x.Time))
		}
	}
	for _, m := range e.Milestones {
		out = append(out, milestoneWord(m.What)+" "+w.day(m.Time))
	}
	return strings.Join(out, ", ")
}
