package book

import (
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// chain gives a place and what it stood in at t, from the inside out.
func (s *State) chain(place string, t time.Time) []*incubation.Place {
	var out []*incubation.Place
	for p := s.Places[place]; p != nil && len(out) <= len(holds); {
		out = append(out, p)
		p = s.Places[incubation.At(p.Stays, t)]
	}
	return out
}

// Room gives what says which probe speaks for which egg. It shares the
// state's places: they are to be read only.
func (s *State) Room() incubation.Layout {
	return incubation.Layout{Places: s.Places, Placements: s.Placements}
}

// Path names a place from the outside in, as it stood at t: "Incubator 1 /
// Box 3". The room is left out unless it is the place itself. A place that is
// not in the book gives "".
func (s *State) Path(place string, t time.Time) string {
	var names []string
	for _, p := range s.chain(place, t) {
		if p.Kind != incubation.Room || p.ID == place {
			names = append(names, p.Name)
		}
	}
	slices.Reverse(names)
	return strings.Join(names, " / ")
}

// SetpointAt gives what the thermostat of the place, or of the nearest thing
// that it stood in, aimed at; nil if the book does not say.
func (s *State) SetpointAt(place string, t time.Time) *incubation.Celsius {
	for _, p := range s.chain(place, t) {
		points := s.Setpoints[p.ID]
		for i := len(points) - 1; i >= 0; i-- {
			if !points[i].From.After(t) {
				c := points[i].Celsius
				return &c
			}
		}
	}
	return nil
}

// LiveEggs gives the ids of the eggs, laid and neither hatched nor failed,
// that lay in the place, or in anything that stood in it, at t; sorted.
func (s *State) LiveEggs(place string, t time.Time) []string {
	var ids []string
	for id, e := range s.Eggs {
		for _, p := range s.chain(incubation.At(e.Stays, t), t) {
			if p.ID == place {
				ids = append(ids, id)
			}
		}
	}
	slices.Sort(ids)
	return ids
}

// ProbesIn gives the ids of the probes that sat in the place itself at t;
// sorted.
func (s *State) ProbesIn(place string, t time.Time) []string {
	var ids []string
	for _, p := range s.Placements {
		if p.Stay.Place == place && p.Stay.Covers(t) {
			ids = append(ids, p.Probe)
		}
	}
	slices.Sort(ids)
	return ids
}
