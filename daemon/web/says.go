package web

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A teller says each entry of the book in one plain sentence, without its
// full stop, in the names a keeper uses; what has no name goes by its id.
type teller struct {
	words
	book *book.State
}

func (v *visit) teller() teller { return teller{v.say, v.snap.Book} }

// says tells an entry.
func (t teller) says(e book.Entry) string {
	data, err := book.Decode(e)
	if err != nil {
		return "An entry that cannot be read"
	}
	switch d := data.(type) {
	case book.PlaceData:
		return t.placeSays(e, d)
	case book.StandData:
		return t.standSays(e, d)
	case book.ProbeData:
		return t.probeSays(d)
	case book.CalibratedData:
		return t.calibratedSays(e, d)
	case book.ContactData:
		return t.contactSays(d)
	case book.SetpointData:
		return "Thermostat of " + t.place(d.Place) + " set to " + t.exact(d.Celsius)
	case book.PlanData:
		return t.planSays(d)
	case book.LimitsData:
		return t.limitsSays(d)
	case book.ServiceData:
		return t.serviceSays(e, d)
	case book.FemaleData:
		return t.femaleSays(e, d)
	case book.LayingData:
		return t.layingSays(d)
	}
	if said, ok := t.alertSays(e, data); ok {
		return said
	}
	if said, ok := t.animalSays(e, data); ok {
		return said
	}
	return t.eggSays(e, data)
}

// entry finds an entry by its number; nil if there is none.
func (t teller) entry(seq uint64) *book.Entry {
	for i := range t.book.Entries {
		if t.book.Entries[i].Seq == seq {
			return &t.book.Entries[i]
		}
	}
	return nil
}

func (t teller) place(id string) string {
	if p := t.book.Places[id]; p != nil {
		return p.Name
	}
	return id
}

func (t teller) female(id string) string { return t.book.Name(id) }

// egg names an egg by its mother and its mark.
func (t teller) egg(id string) string {
	egg := t.book.Eggs[id]
	if egg == nil {
		return id
	}
	c := t.book.Clutches[egg.Clutch]
	if c == nil {
		return id
	}
	return t.female(c.Female) + " " + egg.Mark
}

// subject names what a note is about.
func (t teller) subject(id string) string {
	switch {
	case t.book.Places[id] != nil:
		return t.place(id)
	case t.book.Eggs[id] != nil:
		return t.egg(id)
	case t.book.Clutches[id] != nil:
		return clutchTitle(id) + " of " + t.female(t.book.Clutches[id].Female)
	}
	return t.female(id)
}

// exact tells a temperature that someone wrote down, and nothing behind it.
func (t teller) exact(c incubation.Celsius) string {
	return plainly(t.degrees(c), 2) + nbsp + t.Unit()
}

// apart tells a difference in the visitor's unit.
func (t teller) apart(k float64) string {
	if t.fahrenheit {
		k *= 1.8
	}
	return plainly(k, 2) + nbsp + t.Unit()
}

// plainly writes a number to so many decimals, without empty ones.
func plainly(f float64, decimals int) string {
	scale := math.Pow10(decimals)
	return minus(strconv.FormatFloat(math.Round(f*scale)/scale, 'f', -1, 64))
}

// because adds a reason, if there is one.
func because(what, why string) string {
	if why == "" {
		return what
	}
	return what + ": " + why
}

// short is the beginning of a text that may be long.
func short(text string) string {
	const most = 80
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return strings.TrimSpace(string([]rune(text)[:most])) + "…"
}

// before finds the newest entry of e's kind ahead of it that holds, and that
// is about the same thing; nil if there is none.
func before[T any](b *book.State, e book.Entry, same func(T) bool) *T {
	var found *T
	for _, old := range b.Entries {
		if old.Seq == e.Seq {
			break
		}
		if old.Kind != e.Kind || b.Voided[old.Seq] || slices.Contains(b.Skipped, old.Seq) {
			continue
		}
		data, _ := book.Decode(old)
		if d, ok := data.(T); ok && same(d) {
			found = &d
		}
	}
	return found
}
