package incubation

import "math"

// Chance is the member's share of males at a constant temperature in °C: the
// product of the limbs it has. Two logistic limbs are the double logistic of
// Godfrey, Delmas & Girondot 2003.
func (m *Member) Chance(celsius float64) float64 {
	p := 1.0
	if f := &m.Rising; f.Slope > 0 {
		p = f.rise(celsius)
	}
	if f := &m.Falling; f.Slope > 0 {
		p *= f.rise(2*f.Pivotal - celsius)
	}
	return p
}

// rise is the limb as it rises with temperature; at Pivotal it is one half.
func (f *Flank) rise(celsius float64) float64 {
	x := (f.Pivotal - celsius) / f.Slope
	switch {
	case f.Asymmetry != 0:
		return aLogistic(x, f.Asymmetry)
	case f.Below > 0 && f.Above > 0:
		return flexit(x, f.Below, f.Above)
	}
	return 1 / (1 + math.Exp(x)) // Girondot 1999
}

// aLogistic is the logistic skewed by k, 0 for none (Godfrey, Delmas &
// Girondot 2003). x is the distance under the pivotal temperature in slopes.
func aLogistic(x, k float64) float64 {
	e := math.Exp(k)
	return math.Pow(1+(math.Exp2(e)-1)*math.Exp(x), -1/e)
}

// flexit bends a logistic's two sides apart, each by its own k, 1 for not at
// all (Abreu-Grobois et al. 2020). x is as for aLogistic.
func flexit(x, below, above float64) float64 {
	if x < 0 {
		return 1 - flexSide(-x, above)
	}
	return flexSide(x, below)
}

// flexSide is the side on which the curve goes to nothing. Its slope where it
// begins, at one half, does not depend on k.
func flexSide(x, k float64) float64 {
	whole := math.Exp2(k) - 1
	slope := math.Exp2(k-1) * k / whole
	return math.Pow(1+whole*math.Exp(slope*x), -1/k)
}

// A verdict is what a member has of temperature over the TSP, by development.
type verdict struct {
	weight  float64 // development
	first   float64 // moment of temperature about reference
	median  float64 // °C; set for ByMedian only
	chances float64 // sum of the chances; set for ByChance only
}

// judge gives the chance of a male by the member's own summary.
func (m *Member) judge(k verdict) float64 {
	switch m.Rule {
	case ByMean:
		return m.Chance(reference + k.first/k.weight)
	case ByMedian:
		return m.Chance(k.median)
	}
	return k.chances / k.weight
}

// ByPortions gives the chance of a male, by the member's own summary, of an
// egg whose development in the TSP lay at a few constant temperatures, °C, each
// with its share of it. Without any it is that of the last temperature.
func (m *Member) ByPortions(celsius, weight []float64) float64 {
	var k verdict
	for i, w := range weight {
		k.weight += w
		k.first += w * (celsius[i] - reference)
		k.chances += w * m.Chance(celsius[i])
	}
	if k.weight <= 0 {
		return m.Chance(celsius[len(celsius)-1])
	}
	// The median: below it lies less than half, up to it at least half.
	for i := range weight {
		below, upTo := 0.0, 0.0
		for j, w := range weight {
			if celsius[j] < celsius[i] {
				below += w
			}
			if celsius[j] <= celsius[i] {
				upTo += w
			}
		}
		if below < k.weight/2 && upTo >= k.weight/2 {
			k.median = celsius[i]
		}
	}
	return m.judge(k)
}

// inside is how much of the TSP lies behind, in development.
func (c *course) inside(m *Member) float64 {
	return min(max(c.done, m.Start), m.End) - m.Start
}
