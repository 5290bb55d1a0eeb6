package web

import (
	"cmp"
	"fmt"
	"slices"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// sexedForm is about one egg's animal, or, opened for a clutch, about animals
// of which nobody knows any more which egg each came from.
func sexedForm() form {
	return form{
		Kind: book.KindSexed, Title: "Sexed", Verb: "Write it down",
		Hint: "What counts is the animal looked at, its pores and bulges, at two to four months. " +
			"“Temperature-sexed” is no sexing: it would only tell the estimate what it said itself.",
		fields: func(v *visit) []field {
			told := field{
				Name: "how", Label: "How it was told", Type: "select",
				Options: options("", string(incubation.ByAnatomy), "looked at the animal: pores and bulges",
					string(incubation.ByTemperature), "from the temperature, not looked at"),
			}
			if id := cmp.Or(v.asked("clutch"), v.r.PostForm.Get("clutch")); id != "" {
				return append(mixedFields(id), told)
			}
			return []field{v.hatchedField(), {
				Name: "sex", Label: "Sex", Type: "select",
				Options: options("", incubation.Female, "female", incubation.Male, "male"),
			}, told}
		},
		read: func(a *answers) any {
			how := incubation.SexedHow(a.id("how"))
			if !a.any("clutch") {
				return book.SexedData{Egg: a.id("egg"), Sex: a.id("sex"), How: how}
			}
			return book.SexedData{
				Clutch: a.id("clutch"), How: how,
				Males: a.count("males", 0, 6), Females: a.count("females", 0, 6),
			}
		},
	}
}

func mixedFields(clutch string) []field {
	return []field{
		{
			Name: "clutch", Type: "hidden", Value: clutch,
			Label: "Hatchlings of " + clutchWord(clutch) + " whose egg you no longer know; leave out any already written down by egg",
		},
		{Name: "females", Label: "Females", Type: "number", Mode: "numeric", Half: true},
		{Name: "males", Label: "Males", Type: "number", Mode: "numeric", Half: true},
	}
}

func (v *visit) hatchedField() field {
	f := field{
		Name: "egg", Label: "Egg it came from", Type: "select",
		Hint: "Not known any more? Clutches, the clutch, “Sexed, egg not known”.",
	}
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			egg := v.snap.Book.Eggs[e.ID]
			if egg == nil || egg.State != incubation.Hatched {
				continue
			}
			f.Options = append(f.Options, option{
				e.ID, c.ID + " " + e.Mark + " · hatched " + v.say.day(egg.Ended), e.ID == v.asked("egg"),
			})
		}
	}
	return f
}

// clutchWord names a clutch within a sentence.
func clutchWord(id string) string {
	if title := clutchTitle(id); title != "Clutch "+id {
		return id
	}
	return "clutch " + id
}

// askNow is what a page says of an animal that is old enough to be sexed.
const askNow = "look at the sex now"

// due reports whether an egg's animal is to be sexed now.
func (v *visit) due(clutch, egg string) bool {
	c := v.snap.Book.Clutches[clutch]
	return c != nil && slices.ContainsFunc(c.SexingGap(v.snap.Time).Due, func(e *incubation.Egg) bool {
		return e.ID == egg
	})
}

// sexOf tells what is known of the sex of a hatched egg's animal, of itself
// and by what was counted of its clutch.
func (v *visit) sexOf(egg *incubation.Egg) string {
	own, c := v.say.ownSex(egg), v.snap.Book.Clutches[egg.Clutch]
	if c == nil || !c.Mixed.Sexed.How.Seen() || egg.Sexed.How == incubation.ByAnatomy {
		return own
	}
	counted := "Among those counted above."
	if c.Mixed.Count() < len(c.NotSexed()) {
		counted = "Perhaps among those counted above."
	}
	if own == notSexed {
		return counted
	}
	return own + " " + counted
}

const notSexed = "Not sexed."

func (w words) ownSex(egg *incubation.Egg) string {
	switch egg.Sexed.How {
	case incubation.AtHatch:
		return "A " + egg.Sex + ", as seen the day it hatched."
	case incubation.ByAnatomy:
		return fmt.Sprintf("A %s: looked at %s, %s.", egg.Sex, w.day(egg.Sexed.At), w.old(egg))
	case incubation.ByTemperature:
		return "Labelled " + egg.Sex + " by temperature: not looked at, so nothing is learned from it."
	}
	return notSexed
}

// old is an animal's age when it was sexed.
func (w words) old(egg *incubation.Egg) string {
	switch n := w.midnights(egg.Ended, egg.Sexed.At); n {
	case 0:
		return "the day it hatched"
	case 1:
		return "a day old"
	default:
		return fmt.Sprintf("%d days old", n)
	}
}

// A mixedBlock is what a clutch's page says of its hatchlings together.
type mixedBlock struct {
	Says    string // the animals whose eggs are not known
	Warning string // why a clutch sexed in part is worth less
	Offer   bool   // there may be animals whose eggs are not known
}

func (v *visit) mixedBlock(c monitor.ClutchNow) mixedBlock {
	clutch := v.snap.Book.Clutches[c.ID]
	if clutch == nil {
		return mixedBlock{}
	}
	b := mixedBlock{
		Warning: clutch.SexingGap(v.snap.Time).Warning(),
		Offer:   len(clutch.Hatched()) > 1 && len(clutch.NotSexed()) > 0,
	}
	m := clutch.Mixed
	switch {
	case m.Sexed.How.Seen():
		b.Says = fmt.Sprintf("%s: looked at %s. Which egg each came from is not known.",
			capital(heads(m.Males, m.Females)), v.say.day(m.Sexed.At))
	case m.Count() > 0:
		b.Says = "Labelled by temperature: " + heads(m.Males, m.Females) +
			". Not looked at, so nothing is learned from it."
	}
	return b
}

// heads counts animals: "one male and two females".
func heads(males, females int) string {
	numbers := [...]string{"no", "one", "two", "three", "four"}
	var parts []string
	for _, n := range []struct {
		count int
		word  string
	}{{males, "male"}, {females, "female"}} {
		if n.count == 0 {
			continue
		}
		text := fmt.Sprint(n.count)
		if n.count < len(numbers) {
			text = numbers[n.count]
		}
		if n.count > 1 {
			n.word += "s"
		}
		parts = append(parts, text+" "+n.word)
	}
	return list(parts)
}
