package web

import (
	"fmt"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// eggSays tells what happened to one egg, and what is about anything.
func (t teller) eggSays(e book.Entry, data any) string {
	switch d := data.(type) {
	case book.EggData:
		return t.moveSays(e, d)
	case book.CandleData:
		if d.Shows != "" {
			return t.egg(d.Egg) + " candled: " + showsWord(d.Shows) + ", " + seenWord(d.Seen)
		}
		return t.egg(d.Egg) + " candled: " + seenWord(d.Seen)
	case book.EggEvent:
		return t.egg(d.Egg) + " pipped"
	case book.HatchData:
		said := t.egg(d.Egg) + " hatched"
		if d.Sex != "" {
			said += ", " + d.Sex + " as seen"
		}
		if d.Grams != 0 {
			said += ", " + plainly(d.Grams, 2) + nbsp + "g"
		}
		return said
	case book.SexedData:
		return t.sexedSays(d)
	case book.FailData:
		return because(t.egg(d.Egg)+" lost", d.Cause)
	case book.NoteData:
		if d.Subject != "" {
			return t.subject(d.Subject) + ": " + d.Text
		}
		return d.Text
	case book.VoidData:
		return t.voidSays(e, d)
	}
	return capital(string(e.Kind))
}

func (t teller) femaleSays(e book.Entry, d book.FemaleData) string {
	old := before[book.FemaleData](t.book, e, func(o book.FemaleData) bool { return o.Female == d.Female })
	if old != nil && old.Name != d.Name {
		return old.Name + " is now called " + d.Name
	}
	return "Female " + d.Name
}

func (t teller) layingSays(d book.LayingData) string {
	numbers := [...]string{"no egg", "one egg", "two eggs", "three eggs", "four eggs"}
	eggs := fmt.Sprintf("%d eggs", len(d.Eggs))
	if len(d.Eggs) < len(numbers) {
		eggs = numbers[len(d.Eggs)]
	}
	s := t.female(d.Female) + " laid " + eggs
	if d.Place != "" {
		s += " in " + t.place(d.Place)
	}
	if d.From.Equal(d.To) {
		return s + ", seen " + t.moment(d.To)
	}
	return s + " between " + t.moment(d.From) + " and " + t.moment(d.To)
}

// moveSays names the box an egg came from; not where it was laid.
func (t teller) moveSays(e book.Entry, d book.EggData) string {
	from := ""
	if egg := t.book.Eggs[d.Egg]; egg != nil {
		from = incubation.At(egg.Stays, e.At.Add(-1))
	}
	if p := t.book.Places[from]; p != nil && p.Kind == incubation.Box && from != d.Box {
		return t.egg(d.Egg) + " from " + p.Name + " into " + t.place(d.Box)
	}
	return t.egg(d.Egg) + " into " + t.place(d.Box)
}

// sexedSays tells what animals turned out to be.
func (t teller) sexedSays(d book.SexedData) string {
	who, what := t.egg(d.Egg), "a "+d.Sex
	if d.Clutch != "" {
		who, what = t.subject(d.Clutch), heads(d.Males, d.Females)+", egg not known"
	}
	if d.How.Seen() {
		return who + " sexed: " + what
	}
	return who + " labelled by temperature, not looked at: " + what
}

// voidSays tells what was taken back; a void reaches only what was entered
// before it.
func (t teller) voidSays(e book.Entry, d book.VoidData) string {
	what := fmt.Sprintf("Took back entry %d", d.Entry)
	if old := t.entry(d.Entry); old != nil && d.Entry < e.Seq {
		what = "Took back “" + short(t.says(*old)) + "”"
	}
	return because(what, d.Why)
}

// clutchOf gives the clutch that an entry is about one egg of; "": none.
func (t teller) clutchOf(e book.Entry) string {
	data, err := book.Decode(e)
	if err != nil {
		return ""
	}
	id := ""
	switch d := data.(type) {
	case book.LayingData:
		if t.book.Clutches[d.Clutch] != nil {
			return d.Clutch
		}
	case book.EggData:
		id = d.Egg
	case book.CandleData:
		id = d.Egg
	case book.EggEvent:
		id = d.Egg
	case book.HatchData:
		id = d.Egg
	case book.SexedData:
		if t.book.Clutches[d.Clutch] != nil {
			return d.Clutch
		}
		id = d.Egg
	case book.FailData:
		id = d.Egg
	case book.PlanData:
		id = d.Egg
	case book.WeighedData:
		id = d.Egg
	case book.LookedData:
		id = d.Egg
	case book.MilestoneData:
		id = d.Egg
	}
	if egg := t.book.Eggs[id]; egg != nil {
		return egg.Clutch
	}
	return ""
}
