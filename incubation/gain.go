package incubation

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"
)

const (
	// worthPoints of the hundred, or worthDays, is what a doubt must narrow an
	// interval by to be worth a word: an ensemble of a thousand places the end
	// of an interval to about one point. Judgement.
	worthPoints = 3.0
	worthDays   = 1.0
	// mostGains is how many are told.
	mostGains = 3
)

// A Gain is how much surer an estimate would be without one doubt.
type Gain struct {
	Narrowing
	Points float64 // narrower sex interval, of a hundred; 0: not worth a word
	Days   float64 // shorter hatch window; 0: not worth a word

	from Estimate
}

// Gains gives the doubts whose removal would narrow an estimate most, best
// first: by the share of the sex interval or of the hatch window that would
// go. At most three, and none that would narrow neither by three points nor by
// a day.
func Gains(now Estimate, each []Narrowing) []Gain {
	var out []Gain
	for _, n := range each {
		g := Gain{Narrowing: n, from: now}
		if by := 100 * (wide(now.Sex) - wide(n.Sex)); by >= worthPoints && !now.TSP.Opens.IsZero() {
			g.Points = by
		}
		if by := long(now.Hatch) - long(n.Hatch); by >= worthDays && long(n.Hatch) > 0 {
			g.Days = by
		}
		if g.Points > 0 || g.Days > 0 {
			out = append(out, g)
		}
	}
	slices.SortStableFunc(out, func(a, b Gain) int { return cmp.Compare(b.share(), a.share()) })
	return out[:min(len(out), mostGains)]
}

// share is how much of an interval would go, 0 to 1.
func (g Gain) share() float64 {
	out := 0.0
	if g.Points > 0 {
		out = g.Points / 100 / wide(g.from.Sex)
	}
	if g.Days > 0 {
		out = max(out, g.Days/long(g.from.Hatch))
	}
	return out
}

func wide(s Sex) float64 { return s.High - s.Low }

// long is the length of a hatch window in days; 0 where it has no end.
func long(h HatchSpan) float64 {
	if h.Earliest.IsZero() || h.Latest.IsZero() {
		return 0
	}
	return float64(h.Latest.Sub(h.Earliest)) / float64(24*time.Hour)
}

// Advice says in a sentence what a keeper can do about the doubt, and what
// that would give at the most. Empty where there is nothing to do: a probe in
// the substrate cannot lie any better. at is the position of the probes that
// the egg was measured by.
func (g Gain) Advice(at Position) string {
	switch g.Without {
	case OfProbe:
		return "Calibrate the probe and write its offset and accuracy down: were its error " +
			"known exactly, " + g.effect() + "."
	case OfPosition:
		if at == Substrate {
			return ""
		}
		do := "Lay a probe in the substrate beside the eggs"
		switch g.from.TSP.State {
		case TSPClosed:
			do += " (too late for the sex of these, in time for the next)"
		case TSPOpen:
			do += " (it helps from now on)"
		}
		return do + ": measured there all along, " + g.effect() + "."
	case OfGaps:
		return "Fill the gaps with a logger’s file, if one lay there (clutchd import): with readings " +
			"across them, " + g.effect() + "."
	case OfPlan:
		return "Measure on: this part narrows by itself. Were all that is still to come " +
			"known, " + g.effect() + "."
	case OfLaying:
		return "Find out when it was laid, if anything tells, and look into the lay box more " +
			"often: were the time known exactly, " + g.effect() + "."
	}
	return ""
}

// effect says what would be narrower.
func (g Gain) effect() string {
	var parts []string
	if g.Points > 0 {
		parts = append(parts, fmt.Sprintf("male %s would be %s", interval(g.from.Sex), interval(g.Sex)))
	}
	if g.Days > 0 {
		parts = append(parts, fmt.Sprintf("the hatch window would be %.1f days long instead of %.1f",
			long(g.Hatch), long(g.from.Hatch)))
	}
	return strings.Join(parts, " and ")
}

func interval(s Sex) string { return fmt.Sprintf("%.0f–%.0f\u00a0%%", 100*s.Low, 100*s.High) }
