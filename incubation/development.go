package incubation

// Rate is the member's development a day at a temperature in °C: nothing up
// to Zero, then a straight line, above Bend that line less a parabola, and
// nothing where the parabola has eaten it.
//
// A line is what durations at constant temperatures give inside the viable
// range. The bend is what Dipsosaurus shows at its upper end (Muth 1980); a
// parabola costs no exponential in the innermost loop.
func (m *Member) Rate(celsius float64) float64 {
	r := (celsius - m.Zero) * m.PerDegree
	if over := celsius - m.Bend; over > 0 {
		r -= over * over * m.Brake
	}
	if !(r > 0) {
		return 0
	}
	return r
}

// Growth is a rate curve in the numbers that a keeper would ask for.
type Growth struct {
	Zero         float64 // °C
	Anchor, Days float64 // °C, below Bend, and how long an egg takes there
	Bend         float64 // °C
	Peak         float64 // K above Bend: where the rate is greatest
}

// Grow gives the member a rate curve.
func (m *Member) Grow(g Growth) {
	m.Zero, m.Bend = g.Zero, g.Bend
	degreeDays := g.Days * (g.Anchor - g.Zero)
	m.PerDegree = 1 / degreeDays
	m.Brake = m.PerDegree / (2 * g.Peak)
}

// A course is how far one member's egg has come. Times are days since the
// earliest laying; a time of 0 has not come yet.
type course struct {
	done float64 // development
	// Over the part of the TSP that is behind: development in gaps, and the
	// first two moments of temperature about reference, by development.
	gap, first, second     float64
	opens, closes, hatches float64
}

// reference is subtracted before temperatures are summed, °C, to keep the
// second moment's digits.
const reference = 28

// A leg is a stretch at one temperature, as one member sees it.
type leg struct {
	from, to float64 // days; to may be infinite
	celsius  float64
	gap      float64 // share of it that no reading speaks for
}

// advance takes the egg along a leg and gives how much of it, in development,
// lay inside the TSP.
func (c *course) advance(m *Member, l leg) float64 {
	rate := m.Rate(l.celsius)
	if rate == 0 || l.to <= l.from {
		return 0
	}
	before := c.done
	after := before + rate*(l.to-l.from)
	c.done = after
	if after >= m.Hatch && c.hatches == 0 {
		c.hatches = l.from + (m.Hatch-before)/rate
	}
	if after <= m.Start || before >= m.End {
		return 0
	}
	if c.opens == 0 {
		c.opens = l.from + (m.Start-before)/rate
	}
	if after >= m.End {
		c.closes = l.from + (m.End-before)/rate
	}
	before, after = max(before, m.Start), min(after, m.End)
	weight := after - before
	c.gap += weight * l.gap
	at := l.celsius - reference
	c.first += weight * at
	c.second += weight * at * at
	return weight
}
