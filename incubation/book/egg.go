package book

import (
	"time"

	"clutchd/incubation"
)

// live gives an egg that is in the book and can still hatch.
func (s *State) live(id string) (*incubation.Egg, *Problem) {
	e := s.Eggs[id]
	if e == nil {
		return nil, problem("egg", "the book has no egg %q at that time", id)
	}
	if !e.Live() {
		return nil, problem("egg", "egg %s %s on %s", id, e.State, e.Ended.Format(shown))
	}
	return e, nil
}

// end closes an egg's life in the room: its last stay, its plan.
func (s *State) end(id string, state incubation.EggState, at time.Time) *incubation.Egg {
	e := s.Eggs[id]
	e.State, e.Ended = state, at
	e.Stays = leave(e.Stays, at)
	delete(s.Plans, id)
	return e
}

func (d EggData) shape(time.Time) *Problem {
	return first(CheckID("egg", d.Egg), CheckID("box", d.Box))
}

func (d EggData) sense(s *State, _ time.Time) *Problem {
	if _, p := s.live(d.Egg); p != nil {
		return p
	}
	return s.eggBox("box", d.Box)
}

// eggBox refuses a place that eggs are not put into.
func (s *State) eggBox(field, id string) *Problem {
	box, p := s.usable(field, id)
	if p == nil && box.Kind != incubation.Box {
		p = problem(field, "%s is %s: eggs are put into egg boxes", box.Name,
			kindWords[box.Kind])
	}
	return p
}

func (d EggData) write(s *State, at time.Time, _ uint64) {
	e := s.Eggs[d.Egg]
	e.AliveAt = at
	if incubation.At(e.Stays, at) == d.Box {
		return
	}
	e.Stays = enter(e.Stays, d.Box, at)
	s.Placed[d.Box] = at
}

func (d CandleData) shape(time.Time) *Problem {
	return first(CheckID("egg", d.Egg), oneOf("seen", d.Seen, "alive", "unsure", "dead"),
		oneOf("shows", d.Shows, "", incubation.Veins, incubation.Ring, incubation.Clear, incubation.Dark))
}

func (d CandleData) sense(s *State, _ time.Time) *Problem {
	_, p := s.live(d.Egg)
	return p
}

// write notes the egg alive. One seen dead stays in the box, and in the book,
// until the keeper enters it as failed.
func (d CandleData) write(s *State, at time.Time, seq uint64) {
	e := s.Eggs[d.Egg]
	e.Candlings = append(e.Candlings, incubation.Candling{At: at, Seq: seq, Seen: d.Seen, Shows: d.Shows})
	if d.Seen == "alive" {
		e.AliveAt = at
	}
}

func (d EggEvent) shape(time.Time) *Problem { return CheckID("egg", d.Egg) }

func (d EggEvent) sense(s *State, _ time.Time) *Problem {
	_, p := s.live(d.Egg)
	return p
}

func (d EggEvent) write(s *State, at time.Time, _ uint64) {
	e := s.Eggs[d.Egg]
	e.State, e.AliveAt = incubation.Pipped, at
	if e.PippedAt.IsZero() {
		e.PippedAt = at
	}
}

func (d HatchData) shape(time.Time) *Problem {
	p := first(CheckID("egg", d.Egg), oneOf("sex", d.Sex, "", incubation.Male, incubation.Female))
	if p == nil && d.Grams != 0 {
		p = checkRange("grams", d.Grams, eggGrams[0], eggGrams[1])
	}
	return p
}

func (d HatchData) sense(s *State, _ time.Time) *Problem {
	_, p := s.live(d.Egg)
	return p
}

func (d HatchData) write(s *State, at time.Time, seq uint64) {
	e := s.end(d.Egg, incubation.Hatched, at)
	if d.Grams != 0 {
		e.Weights = append(e.Weights, incubation.Weight{At: at, Seq: seq, Grams: d.Grams})
	}
	if d.Sex != "" {
		e.Sex, e.Sexed = d.Sex, incubation.Sexing{At: at, How: incubation.AtHatch}
	}
}

func (d FailData) shape(time.Time) *Problem {
	return first(CheckID("egg", d.Egg), checkText("cause", d.Cause, maxCause))
}

func (d FailData) sense(s *State, _ time.Time) *Problem {
	_, p := s.live(d.Egg)
	return p
}

func (d FailData) write(s *State, at time.Time, _ uint64) {
	s.end(d.Egg, incubation.Failed, at).Cause = d.Cause
}
