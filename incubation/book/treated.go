package book

import (
	"time"

	"clutchd/incubation"
)

// TreatedData is what was given or done to an animal.
type TreatedData struct {
	Animal string    `json:"animal"`
	What   string    `json:"what"`
	Until  time.Time `json:"until,omitzero"` // zero: done once
}

func (d TreatedData) shape(at time.Time) *Problem {
	p := first(CheckID("animal", d.Animal), checkWords("what", d.What, maxCause))
	if p == nil && !d.Until.IsZero() && d.Until.Before(at) {
		p = problem("until", "the treatment ends before it begins")
	}
	return p
}

func (d TreatedData) sense(s *State, _ time.Time) *Problem {
	_, p := s.here("animal", d.Animal)
	return p
}

func (d TreatedData) write(s *State, at time.Time, seq uint64) {
	t := incubation.Treatment{At: at, Seq: seq, What: d.What}
	if !d.Until.IsZero() {
		t.Until = d.Until.UTC()
	}
	a := s.Animals[d.Animal]
	a.Treatments = append(a.Treatments, t)
}

// PhotoData adds a picture to an animal, or takes it away.
type PhotoData struct {
	Animal string `json:"animal"`
	Photo  string `json:"photo"` // the name it is kept under
	Gone   bool   `json:"gone,omitempty"`
}

func (d PhotoData) shape(time.Time) *Problem {
	return first(CheckID("animal", d.Animal), CheckID("photo", d.Photo))
}

func (d PhotoData) sense(s *State, _ time.Time) *Problem {
	a, p := s.animal("animal", d.Animal)
	if p == nil && d.has(a) != d.Gone {
		if d.Gone {
			return problem("photo", "%s has no such picture", s.Name(d.Animal))
		}
		return problem("photo", "%s has this picture already", s.Name(d.Animal))
	}
	return p
}

func (d PhotoData) has(a *incubation.Animal) bool {
	for _, p := range a.Photos {
		if p.File == d.Photo {
			return true
		}
	}
	return false
}

func (d PhotoData) write(s *State, at time.Time, seq uint64) {
	a := s.Animals[d.Animal]
	if !d.Gone {
		a.Photos = append(a.Photos, incubation.Photo{At: at, Seq: seq, File: d.Photo})
		return
	}
	for i, p := range a.Photos {
		if p.File == d.Photo {
			a.Photos = append(a.Photos[:i:i], a.Photos[i+1:]...)
			return
		}
	}
}

// GatesData is what the keeper wants of a female before she is paired; a nil
// one leaves the starting value. It replaces what was set before.
type GatesData struct {
	MinMonths    *float64 `json:"min_months,omitempty"`     // age
	MinGrams     *float64 `json:"min_grams,omitempty"`      // weight
	MaxLossRatio *float64 `json:"max_loss_ratio,omitempty"` // of her heaviest this season, 0 to 1
	MaxClutches  *int     `json:"max_clutches,omitempty"`   // in a season
	RestDays     *float64 `json:"rest_days,omitempty"`      // after an accepted pairing
}

func (d GatesData) shape(time.Time) *Problem {
	var p *Problem
	for _, g := range []struct {
		field     string
		value     *float64
		low, high float64
	}{
		{"min_months", d.MinMonths, 0, 120},
		{"min_grams", d.MinGrams, 0, 250},
		{"max_loss_ratio", d.MaxLossRatio, 0, 1},
		{"rest_days", d.RestDays, 0, 365},
	} {
		if p == nil && g.value != nil {
			p = checkRange(g.field, *g.value, g.low, g.high)
		}
	}
	if p == nil && d.MaxClutches != nil {
		p = checkRange("max_clutches", float64(*d.MaxClutches), 0, 30)
	}
	return p
}

func (d GatesData) sense(*State, time.Time) *Problem { return nil }

func (d GatesData) write(s *State, _ time.Time, _ uint64) { s.Gates = &d }
