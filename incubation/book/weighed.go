package book

import (
	"time"

	"clutchd/incubation"
)

// WeighedData is the weight of an animal, of an egg or its hatchling, or of a
// box with all that is in it: one of the three.
type WeighedData struct {
	Animal string  `json:"animal,omitempty"`
	Egg    string  `json:"egg,omitempty"`
	Box    string  `json:"box,omitempty"`
	Grams  float64 `json:"grams"`
}

// Weights that a scale may show: outside them it is a slip of the finger or
// another unit. Judgement.
var (
	animalGrams = [2]float64{1, 250}
	eggGrams    = [2]float64{0.3, 12}
	boxGrams    = [2]float64{5, 10000}
)

func (d WeighedData) shape(time.Time) *Problem {
	var p *Problem
	n := 0
	for _, w := range []struct {
		field, id string
		grams     [2]float64
	}{{"animal", d.Animal, animalGrams}, {"egg", d.Egg, eggGrams}, {"box", d.Box, boxGrams}} {
		if w.id == "" {
			continue
		}
		n++
		p = first(p, CheckID(w.field, w.id), checkRange("grams", d.Grams, w.grams[0], w.grams[1]))
	}
	if n != 1 {
		return problem("animal", "a weight is of one animal, one egg or one box")
	}
	return p
}

func (d WeighedData) sense(s *State, _ time.Time) *Problem {
	switch {
	case d.Animal != "":
		_, p := s.here("animal", d.Animal)
		return p
	case d.Box != "":
		return s.eggBox("box", d.Box)
	}
	return s.laid(d.Egg)
}

// laid refuses an egg that is not in the book or was lost.
func (s *State) laid(id string) *Problem {
	e := s.Eggs[id]
	if e == nil {
		return problem("egg", "the book has no egg %q at that time", id)
	}
	if e.State == incubation.Failed {
		return problem("egg", "egg %s %s on %s", id, e.State, e.Ended.Format(shown))
	}
	return nil
}

func (d WeighedData) write(s *State, at time.Time, seq uint64) {
	w := incubation.Weight{At: at, Seq: seq, Grams: d.Grams}
	switch {
	case d.Animal != "":
		a := s.Animals[d.Animal]
		a.Weights = append(a.Weights, w)
	case d.Box != "":
		b := s.Places[d.Box]
		b.Weights = append(b.Weights, w)
	default:
		e := s.Eggs[d.Egg]
		e.Weights = append(e.Weights, w)
	}
}

// LookedData is how an egg, or a box of eggs, was found: one of the two.
type LookedData struct {
	Egg   string `json:"egg,omitempty"`
	Box   string `json:"box,omitempty"`
	Dents string `json:"dents,omitempty"` // incubation.SlightDents or DeepDents
	Wet   bool   `json:"wet,omitempty"`
	Mould bool   `json:"mould,omitempty"`
	Aired bool   `json:"aired,omitempty"`
	Note  string `json:"note,omitempty"`
}

func (d LookedData) shape(time.Time) *Problem {
	if (d.Egg == "") == (d.Box == "") {
		return problem("egg", "a look is at one egg, or at one box")
	}
	p := first(oneOf("dents", d.Dents, "", incubation.SlightDents, incubation.DeepDents),
		checkText("note", d.Note, maxText))
	if p == nil && d.Egg != "" {
		return CheckID("egg", d.Egg)
	}
	if p == nil && d.Dents != "" {
		return problem("dents", "dents are noted of an egg")
	}
	return first(p, CheckID("box", d.Box))
}

func (d LookedData) sense(s *State, _ time.Time) *Problem {
	if d.Box != "" {
		return s.eggBox("box", d.Box)
	}
	_, p := s.live(d.Egg)
	return p
}

func (d LookedData) write(s *State, at time.Time, seq uint64) {
	l := incubation.Look{
		At: at, Seq: seq, Dents: d.Dents, Wet: d.Wet, Mould: d.Mould, Aired: d.Aired, Note: d.Note,
	}
	if d.Box != "" {
		s.Places[d.Box].Looks = append(s.Places[d.Box].Looks, l)
		return
	}
	s.Eggs[d.Egg].Looks = append(s.Eggs[d.Egg].Looks, l)
}

// MilestoneData is a first time in the life of an egg's hatchling.
type MilestoneData struct {
	Egg  string `json:"egg"`
	What string `json:"what"` // incubation.YolkIn, FirstShed or FirstMeal
}

func (d MilestoneData) shape(time.Time) *Problem {
	return first(CheckID("egg", d.Egg),
		oneOf("what", d.What, incubation.YolkIn, incubation.FirstShed, incubation.FirstMeal))
}

func (d MilestoneData) sense(s *State, _ time.Time) *Problem {
	e := s.Eggs[d.Egg]
	if e == nil || e.State != incubation.Hatched {
		return problem("egg", "the book has no hatched egg %q at that time", d.Egg)
	}
	for _, m := range e.Milestones {
		if m.What == d.What {
			return problem("what", "that was written down on %s", m.At.Format(shown))
		}
	}
	return nil
}

func (d MilestoneData) write(s *State, at time.Time, seq uint64) {
	e := s.Eggs[d.Egg]
	e.Milestones = append(e.Milestones, incubation.Milestone{At: at, Seq: seq, What: d.What})
}
