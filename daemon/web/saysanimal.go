package web

import (
	"fmt"
	"strings"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// animalSays tells what is about an animal, or about what was laid and
// hatched; false for another kind of entry.
func (t teller) animalSays(e book.Entry, data any) (string, bool) {
	switch d := data.(type) {
	case book.AnimalData:
		return t.namedSays(e, d), true
	case book.HousedData:
		if d.Enclosure == "" {
			return t.book.Name(d.Animal) + " taken out of the enclosure", true
		}
		return t.book.Name(d.Animal) + " into " + t.place(d.Enclosure), true
	case book.CheckedData:
		return t.checkedSays(d), true
	case book.PairedData:
		return t.pairedSays(d), true
	case book.WeighedData:
		return t.weighedSays(d), true
	case book.TreatedData:
		if d.Until.IsZero() {
			return t.book.Name(d.Animal) + " treated: " + d.What, true
		}
		return t.book.Name(d.Animal) + " treated until " + t.day(d.Until) + ": " + d.What, true
	case book.QuarantineData:
		if d.Until.IsZero() {
			return because("Quarantine of "+t.book.Name(d.Animal)+" is over", d.Why), true
		}
		return because(t.book.Name(d.Animal)+" in quarantine until "+t.day(d.Until), d.Why), true
	case book.RetiredData:
		return t.retiredSays(d), true
	case book.PhotoData:
		if d.Gone {
			return "A picture of " + t.book.Name(d.Animal) + " taken away", true
		}
		return "A picture of " + t.book.Name(d.Animal), true
	case book.GatesData:
		return t.gatesSays(d), true
	case book.SeasonData:
		return seasonSays(d), true
	case book.LookedData:
		return t.lookedSays(d), true
	case book.MilestoneData:
		return t.egg(d.Egg) + ": " + milestoneWord(d.What), true
	}
	return "", false
}

// namedSays tells a new animal, or what more is known of one.
func (t teller) namedSays(e book.Entry, d book.AnimalData) string {
	old := before[book.AnimalData](t.book, e, func(o book.AnimalData) bool { return o.Animal == d.Animal })
	var what []string
	add := func(known bool, text string) {
		if known {
			what = append(what, text)
		}
	}
	add(d.Sex != "", d.Sex)
	add(d.Hatched != "", "hatched "+d.Hatched)
	add(d.AgeClass != "", string(d.AgeClass))
	add(d.Egg != "", "from "+t.egg(d.Egg))
	add(d.Dam != "", "dam "+t.book.Name(d.Dam))
	add(d.Sire != "", "sire "+t.book.Name(d.Sire))
	add(d.Note != "", d.Note)
	name := t.book.Name(d.Animal)
	if d.Name != "" {
		name = d.Name
	}
	if old != nil && d.Name != "" && old.Name != "" && old.Name != d.Name {
		name = old.Name + " is now called " + d.Name
	}
	return because(name, strings.Join(what, ", "))
}

func (t teller) checkedSays(d book.CheckedData) string {
	said := t.book.Name(d.Animal) + ": " + stageWord(d.Stage)
	switch {
	case d.Stage == incubation.Follicular && d.Sides != "" && d.Size != "":
		said += ", " + d.Size + ", " + sidesWord(d.Sides)
	case d.Size != "":
		said += ", " + d.Size
	case d.Sides != "":
		said += ", " + sidesWord(d.Sides)
	}
	for _, s := range d.Signs {
		said += ", " + signWord(s)
	}
	return because(said, d.Note)
}

func (t teller) pairedSays(d book.PairedData) string {
	said := t.book.Name(d.Female) + " and " + t.book.Name(d.Male) + " together: " + receptionWord(d.Outcome)
	if !d.Until.IsZero() {
		said += ", until " + t.moment(d.Until)
	}
	return because(said, d.Note)
}

func (t teller) weighedSays(d book.WeighedData) string {
	grams := plainly(d.Grams, 2) + nbsp + "g"
	switch {
	case d.Animal != "":
		return t.book.Name(d.Animal) + " weighs " + grams
	case d.Box != "":
		return t.place(d.Box) + " weighs " + grams
	}
	return t.egg(d.Egg) + " weighs " + grams
}

func (t teller) retiredSays(d book.RetiredData) string {
	name := t.book.Name(d.Animal)
	if d.Back {
		return because(name+" breeds again", d.Note)
	}
	words := map[incubation.Leaving]string{
		incubation.Resting: "rests from breeding", incubation.Sold: "was sold",
		incubation.Given: "was given away", incubation.Died: "died",
	}
	return because(name+" "+words[d.Why], d.Note)
}

func (t teller) gatesSays(d book.GatesData) string {
	var what []string
	if d.MinMonths != nil {
		what = append(what, "from "+plainly(*d.MinMonths, 1)+" months")
	}
	if d.MinGrams != nil {
		what = append(what, "from "+plainly(*d.MinGrams, 1)+nbsp+"g")
	}
	if d.MaxLossRatio != nil {
		what = append(what, "having lost "+plainly(100*(*d.MaxLossRatio), 1)+nbsp+"% at most")
	}
	if d.MaxClutches != nil {
		what = append(what, fmt.Sprintf("for %d clutches a season at most", *d.MaxClutches))
	}
	if d.RestDays != nil {
		what = append(what, "again after "+plainly(*d.RestDays, 1)+" days")
	}
	if len(what) == 0 {
		return "Females are paired by the starting values"
	}
	return "Females are paired " + strings.Join(what, ", ")
}

func seasonSays(d book.SeasonData) string {
	said := "The season goes by the northern year"
	if d.Southern {
		said = "The season goes by the southern year"
	}
	if d.Daily == nil {
		return said + ", no daily message"
	}
	return said + ", what is due is told daily at " + marshalled(*d.Daily)
}

func (t teller) lookedSays(d book.LookedData) string {
	var what []string
	add := func(seen bool, word string) {
		if seen {
			what = append(what, word)
		}
	}
	add(d.Aired, "aired")
	add(d.Dents != "", d.Dents+" dents")
	add(d.Wet, "too wet")
	add(d.Mould, "mould")
	if len(what) == 0 {
		what = append(what, "looks well")
	}
	who := t.egg(d.Egg)
	if d.Box != "" {
		who = t.place(d.Box)
	}
	return because(who+": "+strings.Join(what, ", "), d.Note)
}
