package book

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// PlanSteps gives the temperatures to come for an egg, from a time on, each
// holding until the next; the first is what holds at from, if the book says.
// What was written down last wins, a setpoint as much as a plan's step: the
// egg's own step holds wherever the egg lies, until it or its box is moved or
// a thermostat is set anew. A move of the egg's plan that is due and not yet
// entered counts from its date. An incubator's plan stands behind the egg's.
// Where the book stops saying, the last step holds on. An egg that is not in
// the book or does not live has none.
func (s *State) PlanSteps(egg string, from time.Time) []incubation.Step {
	return s.PlanStepsOff(egg, from, func(string) incubation.Celsius { return 0 })
}

// PlanStepsOff is PlanSteps for places that keep to something else than their
// thermostat aims at, off by so much, K: a box on a warm shelf. The egg's own
// steps are temperatures as it is to have them, and stay as they are.
func (s *State) PlanStepsOff(egg string, from time.Time, off func(place string) incubation.Celsius) []incubation.Step {
	e := s.Eggs[egg]
	if e == nil || !e.Live() {
		return nil
	}
	f := s.forecast(e, from.UTC())
	var out []incubation.Step
	for _, t := range f.times() {
		c, dialled, known := f.at(t)
		if place, _ := f.lies(t); dialled {
			c += off(place)
		}
		if n := len(out); known && (n == 0 || out[n-1].Celsius != c) {
			out = append(out, incubation.Step{From: t, Celsius: c})
		}
	}
	return out
}

// forecast is what is to come for one egg, as the book had it at from.
type forecast struct {
	state *State
	from  time.Time
	place string    // where it lies
	since time.Time // since when it lies there
	own   []Setpoint
	moves []incubation.Stay // of its plan, that are not done; they have no end
}

func (s *State) forecast(e *incubation.Egg, from time.Time) forecast {
	f := forecast{state: s, from: from}
	f.place, f.since = covering(e.Stays, from)
	zero := s.dayZero(e)
	for _, step := range s.Plans[e.ID] {
		switch t := step.time(zero); {
		case step.Box == "":
			f.own = append(f.own, Setpoint{From: t, Celsius: step.Celsius})
		case t.After(f.since):
			f.moves = append(f.moves, incubation.Stay{Place: step.Box, From: t})
		}
	}
	return f
}

// times gives from and every time after it at which something may change.
func (f forecast) times() []time.Time {
	out := []time.Time{f.from}
	add := func(t time.Time) {
		if t.After(f.from) {
			out = append(out, t)
		}
	}
	for _, step := range f.own {
		add(step.From)
	}
	boxes := []string{f.place}
	for _, move := range f.moves {
		add(move.From)
		boxes = append(boxes, move.Place)
	}
	for _, box := range boxes {
		for _, p := range f.state.chain(box, f.from) {
			for _, point := range f.state.thermostat(p.ID) {
				add(point.From)
			}
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return slices.CompactFunc(out, time.Time.Equal)
}

// at gives the temperature that the book expects at t, and whether that is what
// a thermostat aims at or the egg's own step.
func (f forecast) at(t time.Time) (c incubation.Celsius, dialled, known bool) {
	place, changed := f.lies(t)
	own, planned := latest(f.own, t)
	for _, p := range f.state.chain(place, f.from) {
		if here, known := latest(f.state.thermostat(p.ID), t); known {
			set, _ := latest(f.state.Setpoints[p.ID], t)
			if planned && !own.From.Before(later(changed, set.From)) {
				break
			}
			return here.Celsius, true, true
		}
		_, moved := covering(p.Stays, f.from)
		changed = later(changed, moved)
	}
	return own.Celsius, false, planned
}

// lies gives the place in which the egg is expected at t, and since when.
func (f forecast) lies(t time.Time) (place string, since time.Time) {
	place, since = f.place, f.since
	for _, move := range f.moves {
		if !move.From.After(t) {
			place, since = move.Place, move.From
		}
	}
	return place, since
}

// covering gives the place and beginning of the stay that covers t.
func covering(stays []incubation.Stay, t time.Time) (place string, since time.Time) {
	for _, stay := range stays {
		if stay.Covers(t) {
			place, since = stay.Place, stay.From
		}
	}
	return place, since
}

// thermostat gives a place's setpoints and its plan's steps, in order; of two
// at one time the plan's comes last.
func (s *State) thermostat(place string) []Setpoint {
	out := slices.Clone(s.Setpoints[place])
	for _, step := range s.Plans[place] {
		out = append(out, Setpoint{From: step.time(time.Time{}), Celsius: step.Celsius})
	}
	slices.SortStableFunc(out, func(a, b Setpoint) int { return a.From.Compare(b.From) })
	return out
}

// Thermostat gives what the thermostat of a place, or of the nearest thing
// that it stands in and that has one, aims at from a time on, and then what is
// planned of it, in order. Nil where the book does not say.
func (s *State) Thermostat(place string, from time.Time) []incubation.Step {
	for _, p := range s.chain(place, from) {
		points := s.thermostat(p.ID)
		now, known := latest(points, from)
		if !known {
			continue
		}
		out := []incubation.Step{{From: from.UTC(), Celsius: now.Celsius}}
		for _, point := range points {
			if point.From.After(from) {
				out = append(out, incubation.Step{From: point.From, Celsius: point.Celsius})
			}
		}
		return out
	}
	return nil
}

// latest gives the last of the points that lie at or before t.
func latest(points []Setpoint, t time.Time) (Setpoint, bool) {
	for i := len(points) - 1; i >= 0; i-- {
		if !points[i].From.After(t) {
			return points[i], true
		}
	}
	return Setpoint{}, false
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
