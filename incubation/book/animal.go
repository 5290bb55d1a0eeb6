package book

import (
	"time"

	"clutchd/incubation"
)

// AnimalData writes an animal down, or what more is known of it: for one that
// is in the book already an empty field leaves what it has.
type AnimalData struct {
	Animal string `json:"animal"` // id, chosen once
	Name   string `json:"name,omitempty"`
	Sex    string `json:"sex,omitempty"` // incubation.Male, Female, "" for not known
	// Hatched is "2023-05-14", "2023-05" or "2023"; AgeClass how old it looks
	// where that is not known.
	Hatched  string              `json:"hatched,omitempty"`
	AgeClass incubation.AgeClass `json:"age_class,omitempty"`
	Dam      string              `json:"dam,omitempty"`
	Sire     string              `json:"sire,omitempty"`
	Egg      string              `json:"egg,omitempty"` // that it hatched from, here
	Note     string              `json:"note,omitempty"`
}

func (d FemaleData) animal() AnimalData {
	return AnimalData{Animal: d.Female, Name: d.Name, Sex: incubation.Female}
}

func (d FemaleData) shape(at time.Time) *Problem {
	return first(CheckID("female", d.Female), checkWords("name", d.Name, maxName))
}

func (d FemaleData) sense(s *State, at time.Time) *Problem {
	p := d.animal().sense(s, at)
	if p != nil && p.Field == "animal" {
		p.Field = "female"
	}
	return p
}

func (d FemaleData) write(s *State, at time.Time, seq uint64) { d.animal().write(s, at, seq) }

func (d AnimalData) shape(time.Time) *Problem {
	p := first(CheckID("animal", d.Animal), checkText("name", d.Name, maxName),
		oneOf("sex", d.Sex, "", incubation.Male, incubation.Female),
		oneOf("age_class", string(d.AgeClass), "", string(incubation.Young), string(incubation.Subadult),
			string(incubation.Adult)),
		checkText("note", d.Note, maxText), checkPartOfDate("hatched", d.Hatched))
	for _, other := range []struct{ field, id string }{{"dam", d.Dam}, {"sire", d.Sire}, {"egg", d.Egg}} {
		if p == nil && other.id != "" {
			p = CheckID(other.field, other.id)
		}
	}
	switch {
	case p != nil:
	case d.Dam == d.Animal:
		p = problem("dam", "an animal is not its own dam")
	case d.Sire == d.Animal:
		p = problem("sire", "an animal is not its own sire")
	case d.Dam != "" && d.Dam == d.Sire:
		p = problem("sire", "dam and sire are two animals")
	}
	return p
}

// checkPartOfDate accepts a year, a month or a day.
func checkPartOfDate(field, text string) *Problem {
	if text == "" {
		return nil
	}
	for _, layout := range []string{"2006-01-02", "2006-01", "2006"} {
		if t, err := time.Parse(layout, text); err == nil {
			return checkTime(field, t)
		}
	}
	return problem(field, "%.40q is no year (2023), month (2023-05) or day (2023-05-14)", text)
}

func (d AnimalData) sense(s *State, _ time.Time) *Problem {
	old := s.Animals[d.Animal]
	if old == nil {
		if p := first(s.taken("animal", d.Animal), checkWords("name", d.Name, maxName)); p != nil {
			return p
		}
		old = &incubation.Animal{}
	}
	if d.Sex != "" && old.Sex != "" && d.Sex != old.Sex && s.bred(d.Animal) {
		return problem("sex", "%s was paired or laid as a %s", s.Name(d.Animal), old.Sex)
	}
	return first(s.parent("dam", d.Dam, d.Animal, incubation.Male),
		s.parent("sire", d.Sire, d.Animal, incubation.Female), s.hatchling(d))
}

// bred reports whether the animal was paired or laid.
func (s *State) bred(id string) bool {
	for _, p := range s.Pairings {
		if p.Female == id || p.Male == id {
			return true
		}
	}
	for _, c := range s.Clutches {
		if c.Female == id {
			return true
		}
	}
	return false
}

// parent refuses one that is not in the book, of the wrong sex or descends
// from its own child.
func (s *State) parent(field, id, child, wrong string) *Problem {
	if id == "" {
		return nil
	}
	a := s.Animals[id]
	switch {
	case a == nil:
		return problem(field, "the book has no animal %q at that time", id)
	case a.Sex == wrong:
		return problem(field, "%s is a %s", s.Name(id), wrong)
	case s.descends(id, child, map[string]bool{}):
		return problem(field, "%s descends from %s", s.Name(id), s.Name(child))
	}
	return nil
}

// descends reports whether the animal has the other among its forebears.
func (s *State) descends(id, from string, seen map[string]bool) bool {
	a := s.Animals[id]
	if a == nil || seen[id] {
		return false
	}
	seen[id] = true
	return a.Dam == from || a.Sire == from || s.descends(a.Dam, from, seen) || s.descends(a.Sire, from, seen)
}

// hatchling refuses an egg that did not hatch here or gave another animal.
func (s *State) hatchling(d AnimalData) *Problem {
	if d.Egg == "" {
		return nil
	}
	e := s.Eggs[d.Egg]
	if e == nil || e.State != incubation.Hatched {
		return problem("egg", "the book has no hatched egg %q at that time", d.Egg)
	}
	dam := s.Clutches[e.Clutch].Female
	if dam == d.Animal || s.descends(dam, d.Animal, map[string]bool{}) {
		return problem("egg", "%s laid this egg, or descends from who did: %s cannot have hatched from it",
			s.Name(dam), s.Name(d.Animal))
	}
	for _, a := range s.Animals {
		if a.Egg == d.Egg && a.ID != d.Animal {
			return problem("egg", "%s hatched from this egg", s.Name(a.ID))
		}
	}
	return nil
}

func (d AnimalData) write(s *State, at time.Time, _ uint64) {
	a := s.Animals[d.Animal]
	if a == nil {
		a = &incubation.Animal{ID: d.Animal, Since: at}
		s.Animals[d.Animal] = a
	}
	for _, f := range []struct {
		to   *string
		text string
	}{
		{&a.Name, d.Name},
		{&a.Sex, d.Sex},
		{&a.Hatched, d.Hatched},
		{&a.Dam, d.Dam},
		{&a.Sire, d.Sire},
		{&a.Egg, d.Egg},
		{&a.Note, d.Note},
	} {
		if f.text != "" {
			*f.to = f.text
		}
	}
	if d.AgeClass != "" {
		a.AgeClass = d.AgeClass
	}
	if e := s.Eggs[d.Egg]; e != nil {
		if a.Dam == "" {
			a.Dam = s.Clutches[e.Clutch].Female
		}
		if a.Hatched == "" {
			a.Hatched = e.Ended.Format(time.DateOnly)
		}
	}
}

// animal gives one that is in the book; here asks for one that lives here.
func (s *State) animal(field, id string) (*incubation.Animal, *Problem) {
	a := s.Animals[id]
	if a == nil {
		return nil, problem(field, "the book has no animal %q at that time", id)
	}
	return a, nil
}

func (s *State) here(field, id string) (*incubation.Animal, *Problem) {
	a, p := s.animal(field, id)
	if p == nil && !a.Here() {
		p = problem(field, "%s is no longer here since %s (%s)", s.Name(id), a.Retired.At.Format(shown), a.Retired.Why)
	}
	return a, p
}

// female gives one that lives here and is not known to be a male.
func (s *State) female(field, id string) (*incubation.Animal, *Problem) {
	a := s.Animals[id]
	if a == nil {
		return nil, problem(field, "the book has no female %q at that time", id)
	}
	if a.Sex == incubation.Male {
		return nil, problem(field, "%s is a male", s.Name(id))
	}
	return s.here(field, id)
}
