package monitor

import (
	"fmt"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// latelyFrom is how long a place must have been measured, settled, for its
// mean to tell what it keeps: more than a thermostat's cycle.
const latelyFrom = time.Hour

// keepsTo names what a place's temperature depends on, as the book has it:
// where it stands, what its thermostat aims at, and which probes tell of it.
func keepsTo(p PlaceNow) string {
	aim := incubation.Celsius(0)
	if p.Setpoint != nil {
		aim = *p.Setpoint
	}
	return fmt.Sprint(p.In, aim, p.Probes)
}

// kept is the mean of what was measured lately, over half a day or as long as
// its thermostat was not touched; false: too little was, or nothing is now.
func (w *placeWatch) kept(now time.Time) (float64, bool) {
	if w == nil || w.lately.record < latelyFrom || now.Sub(w.last) > 2*smoothFor {
		return 0, false
	}
	return w.lately.kelvin, true
}

// expected is the temperature that a place may be taken to keep as long as
// nobody changes anything: the mean that was measured there lately, its
// setpoint unchanged; where it has no probe of its own, that of the incubator
// it stands in; else the setpoint. To the last two comes the difference that
// its shelf is known for. Nil: there is nothing to go by.
func (m *Monitor) expected(p PlaceNow, now time.Time) *incubation.Celsius {
	w := m.watch[p.ID]
	if c, ok := w.kept(now); ok {
		return ptr(incubation.Celsius(c))
	}
	outer := m.book.Places[p.In]
	own := len(m.book.Setpoints[p.ID]) > 0 // a thermostat of its own
	if outer != nil && outer.Kind == incubation.Incubator && !own {
		if c, ok := m.watch[p.In].kept(now); ok {
			return ptr(incubation.Celsius(c) + m.steady(p.ID, p.In))
		}
	}
	if p.Setpoint == nil {
		return nil
	}
	return ptr(*p.Setpoint + m.steady(p.ID, p.In))
}

// steady is how much warmer than its incubator a box may be taken to be for
// good, K, as far as that can be a shelf's: as its probes show it, or showed
// it before they fell silent; 0: not known.
func (m *Monitor) steady(box, in string) incubation.Celsius {
	kelvin := 0.0
	if w := m.watch[box]; w != nil && w.differs.known() != nil {
		kelvin = *w.differs.known()
	} else if s := m.eggs.shelves[incubation.ShelfName(box, in)].shelf; s != nil {
		kelvin = s.Kelvin
	}
	return within(incubation.Celsius(kelvin))
}

// within is a difference as far as it can be a shelf's or a dial's, K.
func within(kelvin incubation.Celsius) incubation.Celsius {
	return max(-steadyMost, min(steadyMost, kelvin))
}

// offDial is how far from what its thermostat aims at a place keeps an egg, K:
// where it lies, as its own record has it since the place settled, which is the
// same after a restart; elsewhere, and until then, as the shelf is known.
func (m *Monitor) offDial(b *book.State, egg *incubation.Egg, place string, now time.Time) incubation.Celsius {
	at, aim := b.Places[place], b.SetpointAt(place, now)
	if at == nil || aim == nil {
		return 0
	}
	track := m.eggs.tracks[egg.ID]
	if track != nil && incubation.At(egg.Stays, now) == place {
		if c, ok := track.Kept(keepsSince(b, egg, now)); ok {
			return within(c - *aim)
		}
	}
	in := incubation.At(at.Stays, now)
	if in == "" || len(b.Setpoints[place]) > 0 {
		return 0
	}
	return m.steady(place, in)
}

// keepsSince is from when on an egg's record tells what the place that it lies
// in keeps.
func keepsSince(b *book.State, egg *incubation.Egg, now time.Time) time.Time {
	place := incubation.At(egg.Stays, now)
	since := settledAt(b, place, now)
	for _, stays := range [][]incubation.Stay{egg.Stays, b.Places[place].Stays} {
		for _, s := range stays {
			if s.Covers(now) {
				since = later(since, s.From.Add(settleBox))
			}
		}
	}
	return since
}

// Course gives the temperatures to come in a place, as far as they are known
// at the snapshot's time: what is expected of it, and then each step of its
// thermostat's plan, as far from the setpoint as it is now. Nil: nothing is
// known to go by.
func (s *Snapshot) Course(place string) []incubation.Step {
	for _, p := range s.Places {
		if p.ID != place || p.Expected == nil {
			continue
		}
		out := []incubation.Step{{From: s.Time, Celsius: *p.Expected}}
		off := incubation.Celsius(0)
		if p.Setpoint != nil {
			off = within(*p.Expected - *p.Setpoint)
		}
		if aims := s.Book.Thermostat(place, s.Time); len(aims) > 0 {
			for _, aim := range aims[1:] {
				out = append(out, incubation.Step{From: aim.From, Celsius: aim.Celsius + off})
			}
		}
		return out
	}
	return nil
}

// Spots gives the egg boxes that stand in an incubator and whose temperature
// is known, in the order of the places.
func (s *Snapshot) Spots() []incubation.Spot {
	var out []incubation.Spot
	for _, p := range s.Places {
		in := s.Book.Places[p.In]
		if p.Kind != incubation.Box || in == nil || in.Kind != incubation.Incubator {
			continue
		}
		if course := s.Course(p.ID); course != nil {
			out = append(out, incubation.Spot{Place: p.ID, Course: course})
		}
	}
	return out
}
