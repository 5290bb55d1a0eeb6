package book

import (
	"time"

	"clutchd/incubation"
)

// HousedData puts an animal into an enclosure.
type HousedData struct {
	Animal    string `json:"animal"`
	Enclosure string `json:"enclosure"` // "": taken out
}

func (d HousedData) shape(time.Time) *Problem {
	p := CheckID("animal", d.Animal)
	if p == nil && d.Enclosure != "" {
		p = CheckID("enclosure", d.Enclosure)
	}
	return p
}

func (d HousedData) sense(s *State, at time.Time) *Problem {
	a, p := s.here("animal", d.Animal)
	if p != nil {
		return p
	}
	if d.Enclosure == "" {
		if incubation.At(a.Stays, at) == "" {
			return problem("enclosure", "%s is in no enclosure", s.Name(d.Animal))
		}
		return nil
	}
	place, p := s.usable("enclosure", d.Enclosure)
	if p == nil && place.Kind != incubation.Enclosure {
		p = problem("enclosure", "%s is %s: animals live in enclosures", place.Name, kindWords[place.Kind])
	}
	return p
}

func (d HousedData) write(s *State, at time.Time, _ uint64) {
	a := s.Animals[d.Animal]
	if incubation.At(a.Stays, at) == d.Enclosure {
		return
	}
	if d.Enclosure == "" {
		a.Stays = leave(a.Stays, at)
		return
	}
	a.Stays = enter(a.Stays, d.Enclosure, at)
}

// QuarantineData keeps an animal apart, or no longer.
type QuarantineData struct {
	Animal string    `json:"animal"`
	Until  time.Time `json:"until,omitzero"` // zero: it is over
	Why    string    `json:"why,omitempty"`
}

// maxQuarantine is more than anyone keeps an animal apart. Judgement.
const maxQuarantine = 2 * 366 * 24 * time.Hour

func (d QuarantineData) shape(at time.Time) *Problem {
	p := first(CheckID("animal", d.Animal), checkText("why", d.Why, maxCause))
	switch {
	case p != nil || d.Until.IsZero():
		return p
	case !d.Until.After(at):
		return problem("until", "the quarantine ends before it begins")
	case d.Until.Sub(at) > maxQuarantine:
		return problem("until", "the quarantine is longer than two years")
	}
	return nil
}

func (d QuarantineData) sense(s *State, _ time.Time) *Problem {
	_, p := s.here("animal", d.Animal)
	return p
}

func (d QuarantineData) write(s *State, _ time.Time, _ uint64) {
	s.Animals[d.Animal].Quarantine = d.Until.UTC()
}

// RetiredData takes an animal out of breeding, or tells that it is no longer
// here; Back: it breeds again, or the entry about its leaving was a mistake.
type RetiredData struct {
	Animal string             `json:"animal"`
	Why    incubation.Leaving `json:"why,omitempty"`
	Note   string             `json:"note,omitempty"`
	Back   bool               `json:"back,omitempty"`
}

func (d RetiredData) shape(time.Time) *Problem {
	p := first(CheckID("animal", d.Animal), checkText("note", d.Note, maxText))
	if p == nil && !d.Back {
		p = oneOf("why", string(d.Why), string(incubation.Resting), string(incubation.Sold),
			string(incubation.Given), string(incubation.Died))
	}
	return p
}

func (d RetiredData) sense(s *State, _ time.Time) *Problem {
	a, p := s.animal("animal", d.Animal)
	switch {
	case p != nil:
	case d.Back && a.Retired == nil:
		p = problem("back", "%s has not been taken out of breeding", s.Name(d.Animal))
	case d.Back && a.Retired.Why == incubation.Died:
		p = problem("back", "%s died: take that entry back if it was a mistake", s.Name(d.Animal))
	case !d.Back && !a.Here():
		_, p = s.here("animal", d.Animal)
	}
	return p
}

func (d RetiredData) write(s *State, at time.Time, seq uint64) {
	a := s.Animals[d.Animal]
	if d.Back {
		a.Retired = nil
		return
	}
	a.Retired = &incubation.Retirement{At: at, Seq: seq, Why: d.Why, Note: d.Note}
	if !a.Here() {
		a.Stays = leave(a.Stays, at)
	}
}
