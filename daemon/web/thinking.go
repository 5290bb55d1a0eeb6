package web

import (
	"clutchd/incubation"
)

// What the season's rhythm says of animals, in one place.

// against is what stands in the way of a pairing, or warns of it; none: nothing
// does.
func (v *visit) against(female, male string) []string {
	var out []string
	for _, id := range []string{female, male} {
		a := v.snap.Book.Animals[id]
		if a == nil {
			continue
		}
		if a.Quarantine.After(v.snap.Time) {
			out = append(out, v.snap.Book.Name(id)+" is in quarantine until "+v.say.day(a.Quarantine))
		}
		if a.Retired != nil {
			out = append(out, v.snap.Book.Name(id)+" rests from breeding")
		}
	}
	return out
}

// nextOf is what is expected of a female next; "": nothing is.
func (v *visit) nextOf(*incubation.Animal) string { return "" }

// siresOf says who may be a clutch's sire; "": nobody can say.
func (v *visit) siresOf(string) string { return "" }

// think fills in what follows from a female's rhythm.
func (v *visit) think(*incubation.Animal, *animalBody) {}
