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
			return ptr(incubation.Celsius(c + w.steady()))
		}
	}
	if p.Setpoint == nil {
		return nil
	}
	return ptr(*p.Setpoint + incubation.Celsius(w.steady()))
}

// offDial is how far from what its thermostat aims at a place keeps, as far as
// that can be a shelf's or a dial's, K; 0: nothing is known of that.
func (m *Monitor) offDial(b *book.State, place string, now time.Time) incubation.Celsius {
	at := b.Places[place]
	aim := b.SetpointAt(place, now)
	if at == nil || aim == nil {
		return 0
	}
	p := PlaceNow{Place: *at, In: incubation.At(at.Stays, now), Setpoint: aim}
	e := m.expected(p, now)
	if e == nil {
		return 0
	}
	return max(-steadyMost, min(steadyMost, *e-*aim))
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
			off = max(-steadyMost, min(steadyMost, *p.Expected-*p.Setpoint))
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
