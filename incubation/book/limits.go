package book

import (
	"maps"
	"slices"
	"time"
)

func (d LimitsData) shape(time.Time) *Problem {
	p := first(CheckID("place", d.Place), d.of(false, false).shape(""),
		optional("off_setpoint_kelvin", d.OffSetpointKelvin, 0.1, 20),
		optional("over_setpoint_kelvin", d.OverSetpointKelvin, 0.1, 20))
	if p == nil && d.Night != nil {
		p = d.shapeOfNight()
	}
	if p == nil && d.Cooling != nil {
		p = d.shapeOfCooling()
	}
	for _, code := range slices.Sorted(maps.Keys(d.RuleOverrides)) {
		if p == nil {
			p = d.RuleOverrides[code].shape(code)
		}
	}
	return p
}

// shape looks at limits; field is what stands before the names of theirs.
func (l PeriodLimits) shape(field string) *Problem {
	var p *Problem
	if l.LowCelsius != nil {
		p = checkCelsius(field+"low_celsius", *l.LowCelsius)
	}
	if p == nil && l.HighCelsius != nil {
		p = checkCelsius(field+"high_celsius", *l.HighCelsius)
	}
	if p == nil && l.LowCelsius != nil && l.HighCelsius != nil && *l.LowCelsius >= *l.HighCelsius {
		p = problem(field+"low_celsius", "the low limit is not below the high one")
	}
	return first(p, optional(field+"low_humidity_ratio", l.LowHumidityRatio, 0, 1))
}

// shapeOfNight also looks at what is in force by night: a limit of the night's
// with the other of the day's.
func (d LimitsData) shapeOfNight() *Problem {
	n := d.Night
	switch {
	case n.From == n.To:
		return problem("night_to", "the night ends when it begins")
	case n.PeriodLimits == PeriodLimits{}:
		return problem("night_from", "the night has no limit of its own")
	}
	return first(n.shape("night_"), d.of(true, false).shape("night_"))
}

func (d LimitsData) shapeOfCooling() *Problem {
	c := d.Cooling
	switch {
	case c.From.Month == 0:
		return problem("cooling_from", "the first day of the cooling season is missing")
	case c.To.Month == 0:
		return problem("cooling_to", "the last day of the cooling season is missing")
	case c.PeriodLimits == PeriodLimits{}:
		return problem("cooling_from", "the cooling season has no limit of its own")
	}
	return first(c.shape("cooling_"), d.of(false, true).shape("cooling_"),
		d.of(d.Night != nil, true).shape("cooling_"))
}

// A RuleOverride is what a place has of a rule otherwise than the rule itself.
// Which rules may be changed, and how far, the rules say.
type RuleOverride struct {
	// Limit replaces the rule's: °C, K off the setpoint or a ratio, as the
	// rule's own.
	Limit          *float64 `json:"limit,omitempty"`
	OnDelaySeconds *float64 `json:"on_delay_seconds,omitempty"`
	Off            bool     `json:"off,omitempty"` // not judged at this place
}

func (o RuleOverride) shape(code string) *Problem {
	const field = "rule_overrides"
	p := first(CheckID(field, code), optional(field, o.Limit, 0, 50),
		optional(field, o.OnDelaySeconds, 0, (24*time.Hour).Seconds()))
	if p == nil && o == (RuleOverride{}) {
		p = problem(field, "nothing is said of the rule %s", code)
	}
	return p
}

func optional(field string, v *float64, low, high float64) *Problem {
	if v == nil {
		return nil
	}
	return checkRange(field, *v, low, high)
}

func (d LimitsData) sense(s *State, _ time.Time) *Problem {
	_, p := s.usable("place", d.Place)
	return p
}

// None reports whether the place has no limits of its own at all.
func (d LimitsData) None() bool {
	return d.of(false, false) == PeriodLimits{} && d.OffSetpointKelvin == nil &&
		d.OverSetpointKelvin == nil && d.Night == nil && d.Cooling == nil && len(d.RuleOverrides) == 0
}

// write replaces the place's limits as a whole; none at all means none of its own.
func (d LimitsData) write(s *State, _ time.Time, _ uint64) {
	delete(s.Limits, d.Place)
	if !d.None() {
		s.Limits[d.Place] = d
	}
}
