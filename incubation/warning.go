package incubation

import (
	"math"
	"slices"
)

// A Warning says what speaks against a temperature, whatever sex it gives.
type Warning string

// The warnings, by the species' limits.
const (
	TooWarm   Warning = "too-warm"   // above the upper limit
	NearLimit Warning = "near-limit" // less than nearTo under it
	TooCold   Warning = "too-cold"   // below the lower limit
	Unhatched Warning = "unhatched"  // colder than any constant temperature with published hatching
)

// nearTo is how near to the upper limit is remarked on, K: a thermostat that
// drifts and a thermometer that is off together. Judgement.
const nearTo = 1.0

// Warn gives what speaks against temperatures, each warning once.
func (l LimitSet) Warn(steps []Step) []Warning {
	var out []Warning
	for _, s := range steps {
		if w := l.warn(float64(s.Celsius)); w != "" && !slices.Contains(out, w) {
			out = append(out, w)
		}
	}
	return out
}

func (l LimitSet) warn(celsius float64) Warning {
	switch {
	case celsius > l.High.Value:
		return TooWarm
	case celsius > l.High.Value-nearTo:
		return NearLimit
	case celsius < l.Low.Value:
		return TooCold
	case l.Hatched != nil && celsius < l.Hatched.Value:
		return Unhatched
	}
	return ""
}

// MostMale gives the constant temperature with the most males and their share,
// by the middle values of the species' figures; to a twentieth of a kelvin,
// from 15 to 45 °C. It is what a wish for a male can come to at best.
func (s SexSet) MostMale() (at Celsius, share float64) {
	m := Member{Rising: s.Rising.middle(), Falling: s.Falling.middle()}
	share = -1
	for i := range 601 {
		c := 15 + float64(i)/20
		if p := m.Chance(c); p > share {
			at, share = Celsius(math.Round(c*20)/20), p
		}
	}
	return at, share
}

// middle is a limb at its middle values; of none, a flank that does not count.
func (l *Limb) middle() Flank {
	if l == nil {
		return Flank{}
	}
	f := Flank{Pivotal: l.Pivotal.Value, Slope: l.Slope.Value}
	if l.Asymmetry != nil {
		f.Asymmetry = l.Asymmetry.Value
	}
	if l.Below != nil && l.Above != nil {
		f.Below, f.Above = l.Below.Value, l.Above.Value
	}
	return f
}
