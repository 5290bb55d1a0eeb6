package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"clutchd/incubation"
)

// A raiseLine is a hatchling that the book knows as an egg only: one tap makes
// an animal of it, with its dam.
type raiseLine struct {
	Egg, Clutch, Name, ID, Says string
	Request, Return             string
	Hatched                     string // its day in the room's zone
	hatched                     time.Time
}

// raiseLines are the eggs that hatched here and are no animals yet, the newest
// first.
func (v *visit) raiseLines() []raiseLine {
	raised := map[string]bool{}
	for _, a := range v.snap.Book.Animals {
		raised[a.Egg] = true
	}
	var out []raiseLine
	for id, e := range v.snap.Book.Eggs {
		if e.State == incubation.Hatched && !raised[id] {
			out = append(out, v.raiseLine(e))
		}
	}
	slices.SortFunc(out, func(a, b raiseLine) int {
		return cmp.Or(b.hatched.Compare(a.hatched), asCounted(a.Egg, b.Egg))
	})
	return out
}

// toRaise is the line of one hatched egg; nil: it is an animal already, or did
// not hatch.
func (v *visit) toRaise(egg, back string) *raiseLine {
	e := v.snap.Book.Eggs[egg]
	if e == nil || e.State != incubation.Hatched {
		return nil
	}
	for _, a := range v.snap.Book.Animals {
		if a.Egg == egg {
			return nil
		}
	}
	l := v.raiseLine(e)
	l.Return = back
	return &l
}

func (v *visit) raiseLine(e *incubation.Egg) raiseLine {
	l := raiseLine{
		Egg: e.ID, Clutch: e.Clutch, Name: e.Clutch + " " + e.Mark, ID: v.freeID("y-" + e.ID),
		Request: newRequest(), Return: "/females?show=young", hatched: e.Ended,
		Hatched: v.say.in(e.Ended).Format(time.DateOnly),
	}
	l.Says = fmt.Sprintf("hatched %s", v.say.day(e.Ended))
	if c := v.snap.Book.Clutches[e.Clutch]; c != nil {
		l.Says += ", dam " + v.snap.Book.Name(c.Female)
	}
	return l
}

// freeID gives an id that nothing bears, from one that is wished.
func (v *visit) freeID(wish string) string {
	b := v.snap.Book
	id := wish
	for n := 2; ; n++ {
		if b.Animals[id] == nil && b.Places[id] == nil && b.Eggs[id] == nil && b.Clutches[id] == nil {
			return id
		}
		id = wish + "-" + strconv.Itoa(n)
	}
}

// ageOf tells how old an animal is, as far as that is known.
func (v *visit) ageOf(a *incubation.Animal) string {
	now := v.say.in(v.snap.Time)
	for _, form := range []string{time.DateOnly, "2006-01", "2006"} {
		t, err := time.ParseInLocation(form, a.Hatched, now.Location())
		if err != nil {
			continue
		}
		months := (now.Year()-t.Year())*12 + int(now.Month()) - int(t.Month())
		if now.Day() < t.Day() {
			months--
		}
		switch {
		case months < 0:
			return ""
		case form == "2006" && now.Year() == t.Year():
			return "of this year"
		case form == "2006":
			return years(now.Year()-t.Year()) + " or under" // hatched at any time in it
		case form == time.DateOnly && months < 3:
			return span(v.snap.Time.Sub(t))
		case months < 24:
			return strconv.Itoa(months) + " months"
		}
		return years(months / 12)
	}
	return string(a.AgeClass)
}

func years(n int) string {
	if n == 1 {
		return "1 year"
	}
	return strconv.Itoa(n) + " years"
}
