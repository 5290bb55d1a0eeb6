package book

import (
	"cmp"
	"time"

	"clutchd/incubation"
)

// kindWords names kinds in sentences.
var kindWords = map[incubation.PlaceKind]string{
	incubation.Incubator: "an incubator",
	incubation.Box:       "an egg box",
	incubation.LayBox:    "a lay box",
	incubation.Enclosure: "an enclosure",
	incubation.Room:      "a room",
}

// holds says what may stand in what. It has no loop, so nothing can stand in
// itself, however far round.
var holds = map[incubation.PlaceKind][]incubation.PlaceKind{
	incubation.Incubator: {incubation.Box, incubation.LayBox},
	incubation.Enclosure: {incubation.LayBox},
	incubation.Room: {
		incubation.Incubator, incubation.Enclosure, incubation.Box,
		incubation.LayBox,
	},
}

// usable gives a place that is in the book and in use.
func (s *State) usable(field, id string) (*incubation.Place, *Problem) {
	p := s.Places[id]
	if p == nil {
		return nil, problem(field, "the book has no place %q at that time", id)
	}
	if s.Gone[id] {
		return nil, problem(field, "%s is out of use", p.Name)
	}
	return p, nil
}

// taken refuses an id that names something else already: ids of places, eggs,
// clutches and animals are never shared.
func (s *State) taken(field, id string) *Problem {
	what := ""
	switch {
	case s.Places[id] != nil:
		what = "a place"
	case s.Eggs[id] != nil:
		what = "an egg"
	case s.Clutches[id] != nil:
		what = "a clutch"
	case s.Animals[id] != nil:
		what = "an animal"
	default:
		return nil
	}
	return problem(field, "%q is the id of %s already", id, what)
}

func (d PlaceData) shape(time.Time) *Problem {
	p := first(CheckID("place", d.Place), checkText("name", d.Name, maxName))
	if p == nil && d.Name != "" {
		p = checkWords("name", d.Name, maxName)
	}
	if p == nil && d.Kind != "" && kindWords[d.Kind] == "" {
		p = problem("kind", "%.40q is no kind of place", string(d.Kind))
	}
	if p == nil && (d.Rack != "" || d.Slot != 0) {
		p = first(checkText("rack", d.Rack, maxName), checkRange("slot", float64(d.Slot), 1, maxSlot))
	}
	return p
}

// maxSlot is more than any rack has. Judgement.
const maxSlot = 1000

func (d PlaceData) sense(s *State, at time.Time) *Problem {
	old := s.Places[d.Place]
	if old == nil {
		p := first(s.taken("place", d.Place), d.complete())
		if p == nil && d.Slot != 0 && d.Kind != incubation.Enclosure {
			p = problem("slot", "%s is %s: racks hold enclosures", d.Name, kindWords[d.Kind])
		}
		return p
	}
	if d.Kind != "" && d.Kind != old.Kind && s.inUse(old, at) {
		return problem("kind", "%s is in use as %s", old.Name, kindWords[old.Kind])
	}
	if d.Slot != 0 && cmp.Or(d.Kind, old.Kind) != incubation.Enclosure {
		return problem("slot", "%s is %s: racks hold enclosures", old.Name, kindWords[old.Kind])
	}
	if d.Gone && s.full(d.Place, at) {
		return problem("gone", "%s is not empty", old.Name)
	}
	return nil
}

// complete refuses a new place without kind or name.
func (d PlaceData) complete() *Problem {
	if d.Kind == "" {
		return problem("kind", "kind is missing")
	}
	if d.Gone {
		return problem("gone", "the book has no place %q at that time", d.Place)
	}
	return checkWords("name", d.Name, maxName)
}

// inUse reports whether the place stands in another or holds anything.
func (s *State) inUse(p *incubation.Place, at time.Time) bool {
	return incubation.At(p.Stays, at) != "" || s.full(p.ID, at)
}

// full reports whether a live egg lies in the place, an animal lives in it or
// another place stands in it.
func (s *State) full(place string, at time.Time) bool {
	for _, e := range s.Eggs {
		if incubation.At(e.Stays, at) == place {
			return true
		}
	}
	for _, a := range s.Animals {
		if incubation.At(a.Stays, at) == place {
			return true
		}
	}
	for _, p := range s.Places {
		if incubation.At(p.Stays, at) == place {
			return true
		}
	}
	return false
}

func (d PlaceData) write(s *State, at time.Time, _ uint64) {
	p := s.Places[d.Place]
	if p == nil {
		p = &incubation.Place{ID: d.Place}
		s.Places[d.Place] = p
	}
	if d.Kind != "" {
		p.Kind = d.Kind
	}
	if d.Name != "" {
		p.Name = d.Name
	}
	if d.Slot != 0 {
		p.Rack, p.Slot = d.Rack, d.Slot
	}
	delete(s.Gone, d.Place)
	if d.Gone {
		s.Gone[d.Place] = true
		p.Stays = leave(p.Stays, at)
		s.unplace(func(p incubation.Placement) bool { return p.Stay.Place == d.Place }, at)
		s.disconnect(func(c incubation.ContactStay) bool { return c.Stay.Place == d.Place }, at)
	}
}

func (d StandData) shape(time.Time) *Problem {
	p := CheckID("place", d.Place)
	if p == nil && d.In != "" {
		p = CheckID("in", d.In)
	}
	return p
}

func (d StandData) sense(s *State, at time.Time) *Problem {
	what, p := s.usable("place", d.Place)
	if p != nil {
		return p
	}
	if d.In == "" {
		if incubation.At(what.Stays, at) == "" {
			return problem("in", "%s does not stand in anything", what.Name)
		}
		return nil
	}
	in, p := s.usable("in", d.In)
	if p != nil {
		return p
	}
	for _, kind := range holds[in.Kind] {
		if kind == what.Kind {
			return nil
		}
	}
	return problem("in", "%s is %s and cannot stand in %s, which is %s",
		what.Name, kindWords[what.Kind], in.Name, kindWords[in.Kind])
}

func (d StandData) write(s *State, at time.Time, _ uint64) {
	p := s.Places[d.Place]
	if incubation.At(p.Stays, at) == d.In {
		return
	}
	p.Stays = enter(p.Stays, d.In, at)
	s.Placed[d.Place] = at
}

// leave ends the stay that is open. One that would have no length is dropped.
func leave(stays []incubation.Stay, at time.Time) []incubation.Stay {
	n := len(stays)
	if n == 0 || !stays[n-1].To.IsZero() {
		return stays
	}
	if !stays[n-1].From.Before(at) {
		return stays[:n-1]
	}
	stays[n-1].To = at
	return stays
}

// enter ends the stay that is open and begins one in place; "" begins none.
func enter(stays []incubation.Stay, place string, at time.Time) []incubation.Stay {
	stays = leave(stays, at)
	if place == "" {
		return stays
	}
	return append(stays, incubation.Stay{Place: place, From: at})
}
