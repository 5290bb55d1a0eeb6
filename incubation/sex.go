package incubation

import "math"

// Chance is the member's share of males at a constant temperature in °C: the
// product of the limbs it has (the double logistic of Godfrey, Delmas &
// Girondot 2003, with one limb the logistic of Girondot 1999).
func (m *Member) Chance(celsius float64) float64 {
	p := 1.0
	if f := m.Rising; f.Slope > 0 {
		p /= 1 + math.Exp((f.Pivotal-celsius)/f.Slope)
	}
	if f := m.Falling; f.Slope > 0 {
		p /= 1 + math.Exp((celsius-f.Pivotal)/f.Slope)
	}
	return p
}

// A tally is what a member has of temperature over the TSP, by development.
type tally struct {
	weight  float64 // development
	first   float64 // moment of temperature about reference
	median  float64 // °C; set for ByMedian only
	chances float64 // sum of the chances; set for ByChance only
}

// judge gives the chance of a male by the member's own summary.
func (m *Member) judge(k tally) float64 {
	switch m.Rule {
	case ByMean:
		return m.Chance(reference + k.first/k.weight)
	case ByMedian:
		return m.Chance(k.median)
	}
	return k.chances / k.weight
}

// inside is how much of the TSP lies behind, in development.
func (c *course) inside(m *Member) float64 {
	return min(max(c.done, m.Start), m.End) - m.Start
}
