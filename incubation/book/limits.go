package book

import "time"

func (d LimitsData) shape(time.Time) *Problem {
	p := CheckID("place", d.Place)
	if p == nil && d.LowCelsius != nil {
		p = checkCelsius("low_celsius", *d.LowCelsius)
	}
	if p == nil && d.HighCelsius != nil {
		p = checkCelsius("high_celsius", *d.HighCelsius)
	}
	if p == nil && d.LowCelsius != nil && d.HighCelsius != nil &&
		*d.LowCelsius >= *d.HighCelsius {
		p = problem("low_celsius", "the low limit is not below the high one")
	}
	return first(p,
		optional("low_humidity_ratio", d.LowHumidityRatio, 0, 1),
		optional("off_setpoint_kelvin", d.OffSetpointKelvin, 0.1, 20),
		optional("over_setpoint_kelvin", d.OverSetpointKelvin, 0.1, 20))
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

// write replaces the place's limits as a whole; none at all means none of its own.
func (d LimitsData) write(s *State, _ time.Time) {
	delete(s.Limits, d.Place)
	if d != (LimitsData{Place: d.Place}) {
		s.Limits[d.Place] = d
	}
}
