package book

import (
	"time"

	"clutchd/incubation"
)

func (d ProbeData) shape(time.Time) *Problem {
	p := CheckID("probe", d.Probe)
	if p == nil && d.Place != "" {
		p = CheckID("place", d.Place)
	}
	if p == nil && d.Position != "" && d.Position.Rank() > incubation.IncubatorAir.Rank() {
		p = problem("position", "%.40q is no position of a probe", string(d.Position))
	}
	return first(p, checkRange("accuracy_kelvin", d.AccuracyKelvin, 0, 5),
		checkRange("offset_kelvin", d.OffsetKelvin, -10, 10))
}

func (d ProbeData) sense(s *State, at time.Time) *Problem {
	if d.Place != "" {
		_, p := s.usable("place", d.Place)
		return p
	}
	for _, p := range s.Placements {
		if p.Probe == d.Probe && p.Stay.Covers(at) {
			return nil
		}
	}
	return problem("probe", "probe %s is in no place", d.Probe)
}

func (d ProbeData) write(s *State, at time.Time, _ uint64) {
	s.unplace(func(p incubation.Placement) bool { return p.Probe == d.Probe }, at)
	if d.Place == "" {
		return
	}
	s.Placements = append(s.Placements, s.calibrated(incubation.Placement{
		Probe:    d.Probe,
		Stay:     incubation.Stay{Place: d.Place, From: at},
		Position: d.position(s.Places[d.Place].Kind),
		Accuracy: d.AccuracyKelvin,
		Offset:   d.OffsetKelvin,
	}))
}

// position gives the probe's position; not given, the one that claims least.
func (d ProbeData) position(kind incubation.PlaceKind) incubation.Position {
	if d.Position != "" {
		return d.Position
	}
	switch kind {
	case incubation.Box, incubation.LayBox:
		return incubation.BoxAir
	case incubation.Incubator:
		return incubation.IncubatorAir
	}
	return ""
}

// unplace ends the open placements that match; one without length is dropped.
func (s *State) unplace(match func(incubation.Placement) bool, at time.Time) {
	kept := s.Placements[:0]
	for _, p := range s.Placements {
		if match(p) && p.Stay.To.IsZero() {
			if !p.Stay.From.Before(at) {
				continue
			}
			p.Stay.To = at
		}
		kept = append(kept, p)
	}
	s.Placements = kept
}
