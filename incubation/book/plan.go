package book

import (
	"time"

	"clutchd/incubation"
)

// Bounds of a plan. Judgement.
const (
	maxSteps = 40
	maxDay   = 200
)

func (d PlanData) shape(time.Time) *Problem {
	if (d.Place == "") == (d.Egg == "") {
		return problem("place", "a plan is for a place or for an egg, one of the two")
	}
	field, id := "place", d.Place
	if d.Egg != "" {
		field, id = "egg", d.Egg
	}
	if p := CheckID(field, id); p != nil {
		return p
	}
	if len(d.Steps) > maxSteps {
		return problem("steps", "a plan of %d steps is longer than %d", len(d.Steps), maxSteps)
	}
	for i, step := range d.Steps {
		if p := first(step.when(d.Egg != ""), step.what(d.Egg != "")); p != nil {
			return problem("steps", "step %d: %s", i+1, p.Text)
		}
	}
	return nil
}

// when refuses a step without one clear time.
func (t PlanStep) when(egg bool) *Problem {
	switch {
	case t.At.IsZero() == (t.Day == 0):
		return problem("at", "it needs a time or a day after the laying, one of the two")
	case !t.At.IsZero():
		return checkTime("at", t.At)
	case !egg:
		return problem("day", "only an egg's plan counts days after the laying")
	}
	return checkRange("day", t.Day, 0, maxDay)
}

// what refuses a step that changes nothing, or two things.
func (t PlanStep) what(egg bool) *Problem {
	switch {
	case t.Box != "" && !egg:
		return problem("box", "only an egg's plan moves to a box")
	case t.Box != "" && t.Celsius != 0:
		return problem("box", "it is a temperature or a move to a box, not both")
	case t.Box != "":
		return CheckID("box", t.Box)
	case t.Celsius == 0:
		return problem("celsius", "it needs a temperature or a box")
	}
	return checkCelsius("celsius", t.Celsius)
}

func (d PlanData) sense(s *State, _ time.Time) *Problem {
	if d.Place != "" {
		place, p := s.usable("place", d.Place)
		if p == nil && place.Kind != incubation.Incubator {
			p = problem("place", "%s is %s: a plan is for an incubator or an egg",
				place.Name, kindWords[place.Kind])
		}
		return first(p, inOrder(d.Steps, time.Time{}))
	}
	egg, p := s.live(d.Egg)
	if p != nil {
		return p
	}
	for _, step := range d.Steps {
		if step.Box != "" {
			if p := s.eggBox("steps", step.Box); p != nil {
				return p
			}
		}
	}
	return inOrder(d.Steps, s.dayZero(egg))
}

func inOrder(steps []PlanStep, zero time.Time) *Problem {
	for i := 1; i < len(steps); i++ {
		if steps[i].time(zero).Before(steps[i-1].time(zero)) {
			return problem("steps", "step %d comes before step %d", i+1, i)
		}
	}
	return nil
}

func (d PlanData) write(s *State, _ time.Time, _ uint64) {
	delete(s.Plans, d.Place+d.Egg)
	if len(d.Steps) > 0 {
		s.Plans[d.Place+d.Egg] = d.Steps
	}
}

// dayZero is the middle of the laying interval, from which a plan counts days.
func (s *State) dayZero(e *incubation.Egg) time.Time {
	laid := s.Clutches[e.Clutch].Laid
	return laid.From.Add(laid.To.Sub(laid.From) / 2)
}

// time is when the step is due.
func (t PlanStep) time(zero time.Time) time.Time {
	if t.Day == 0 {
		return t.At.UTC()
	}
	return zero.Add(time.Duration(t.Day * 24 * float64(time.Hour)))
}

// When is the time that a step of an egg's plan is due, its day counted from
// the middle of the laying interval. Of an egg that is not in the book a day
// has none: the zero time.
func (s *State) When(egg string, step PlanStep) time.Time {
	e := s.Eggs[egg]
	if e == nil {
		return step.At.UTC()
	}
	return step.time(s.dayZero(e))
}
