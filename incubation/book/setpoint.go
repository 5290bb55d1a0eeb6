package book

import "time"

func (d SetpointData) shape(time.Time) *Problem {
	return first(CheckID("place", d.Place), checkCelsius("celsius", d.Celsius))
}

func (d SetpointData) sense(s *State, _ time.Time) *Problem {
	_, p := s.usable("place", d.Place)
	return p
}

func (d SetpointData) write(s *State, at time.Time, _ uint64) {
	points := s.Setpoints[d.Place]
	if n := len(points); n > 0 && points[n-1].From.Equal(at) {
		points = points[:n-1]
	}
	s.Setpoints[d.Place] = append(points, Setpoint{From: at, Celsius: d.Celsius})
}
