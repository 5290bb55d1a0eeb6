package monitor

const (
	// leastSwing is what an on/off thermostat swings by at least, K. What stays
	// within less is a proportional one's, or noise.
	leastSwing = 0.3
	// oneRise is how many usual swings a thermostat climbs in one go at most:
	// one, and half of it for a lag or a colder room. Judgement.
	oneRise = 1.5
	// turned is which share of its swing a place must fall by for its climb to
	// be over. Judgement.
	turned = 1.0 / 3
	// overshoot is which share of its swing it may pass what is too warm by
	// before the heater is off and its warmth has come through. Judgement.
	overshoot = 1.0 / 3
	// closeTo is how near the limit nothing is put down to a thermostat, K.
	// Judgement: minutes count there, whatever the cause.
	closeTo = 1.5
)

// switching reports whether a place that is warmer than it usually is may be so
// by a thermostat that still switches, its dial turned higher than the book
// knows. Its heater warms as fast as one that is stuck, but not as far: in one
// go by about its usual swing, or, in the rise by which it gets to the new
// dial, by what that was turned besides. So nothing is told of it up to what is
// too warm by the setpoint; up to a swing over that, only what climbs further
// in one go than it ever does. Too-warm and off-setpoint tell of the dial.
func (m *Monitor) switching(p PlaceNow, c *course, h heading) bool {
	bottom, top, known := c.band.Usual()
	swing := top - bottom
	if !known || swing < leastSwing || h.celsius >= h.limit-closeTo {
		return false
	}
	tooWarm := (bottom+top)/2 + m.rule("too-warm").Limit.Above
	if high := m.limitsOf(m.rule("too-warm"), p).high; high != nil {
		tooWarm = *high + m.watch[p.ID].steady()
	}
	switch {
	case h.celsius < tooWarm+overshoot*swing:
		return true
	case h.celsius < tooWarm+swing:
		return c.window.Climbed(turned*swing) < oneRise*swing
	}
	return false
}
