package incubation

import (
	"fmt"
	"strings"
)

// A Number is one figure of a profile, how far it may be off, and where it is
// from. Either SD is set, one standard deviation, or Low and High are, the 5 %
// and 95 % points; neither: it is taken as exact.
type Number struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low,omitempty"`
	High  float64 `json:"high,omitempty"`
	SD    float64 `json:"sd,omitempty"`
	// Source is the paper, or what the figure was derived or judged from.
	Source string `json:"source"`
	Mark   Mark   `json:"mark"`
}

// Mark says what a number is worth.
type Mark string

// The marks.
const (
	Published  Mark = "published"       // read in the source
	Derived    Mark = "derived"         // computed from published values, never published itself
	FromMemory Mark = "from memory"     // known to the one who wrote it, not looked up
	Judgement  Mark = "judgement"       // nobody measured it
	Common     Mark = "common practice" // keepers say so; no source
)

// normal95 is the standard normal distribution's 95 % point.
const normal95 = 1.6448536269514722

// At gives the number moved by z standard deviations: half a normal
// distribution on each side of Value, which stays the median.
func (n Number) At(z float64) float64 {
	switch {
	case n.SD > 0:
		return n.Value + z*n.SD
	case n.Low == 0 && n.High == 0:
		return n.Value
	case z < 0:
		return n.Value + z*(n.Value-n.Low)/normal95
	}
	return n.Value + z*(n.High-n.Value)/normal95
}

// A figure is a number with its name in the file and what it may be.
type figure struct {
	name       string
	number     Number
	least, top float64 // bounds of Value, Low and High
}

func (f figure) check() error {
	n := f.number
	for _, v := range []float64{n.Value, n.Low, n.High, n.SD} {
		if !finite(v) {
			return fmt.Errorf("%s: %g is not a number", f.name, v)
		}
	}
	spread := n.Low != 0 || n.High != 0
	switch {
	case n.Value < f.least || n.Value > f.top:
		return fmt.Errorf("%s: value %g is not from %g to %g", f.name, n.Value, f.least, f.top)
	case n.SD < 0 || n.SD > f.top:
		return fmt.Errorf("%s: sd %g is not from 0 to %g", f.name, n.SD, f.top)
	case spread && n.SD != 0:
		return fmt.Errorf("%s: give sd, or low and high, not both", f.name)
	case spread && (n.Low > n.Value || n.High < n.Value):
		return fmt.Errorf("%s: value %g is not from low %g to high %g", f.name, n.Value, n.Low, n.High)
	case spread && (n.Low < f.least || n.High > f.top):
		return fmt.Errorf("%s: low %g and high %g are not from %g to %g",
			f.name, n.Low, n.High, f.least, f.top)
	}
	return n.checkSource(f.name)
}

func (n Number) checkSource(name string) error {
	switch n.Mark {
	case Published, Derived, FromMemory:
		if strings.TrimSpace(n.Source) == "" {
			return fmt.Errorf("%s: marked %q, but its source is empty", name, n.Mark)
		}
	case Judgement, Common:
	default:
		return fmt.Errorf("%s: mark %q is not one of published, derived, from memory, "+
			"judgement, common practice", name, n.Mark)
	}
	return nil
}
