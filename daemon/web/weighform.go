package web

import (
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// weighForm is opened for an animal, an egg or a box; without one it asks
// which animal.
func weighForm() form {
	return form{
		Kind: book.KindWeighed, Title: "Weight", Verb: "Write it down", Near: true,
		fields: func(v *visit) []field {
			who := v.who("animal", "Animal", v.animals("", (*incubation.Animal).Here))
			for _, other := range []string{"egg", "box"} {
				if id := v.preset(other); id != "" {
					who = field{Name: other, Type: "hidden", Value: id, Label: v.teller().subject(id)}
				}
			}
			return []field{who, {
				Name: "grams", Label: "Weight", Mode: "decimal", Suffix: "g", Hint: v.lastWeight(who.Name, who.Value),
			}}
		},
		read: func(a *answers) any {
			if !a.any("grams") {
				a.blame("grams", "a weight is wanted here")
			}
			d := book.WeighedData{
				Animal: a.text("animal"), Egg: a.text("egg"), Box: a.text("box"), Grams: a.number("grams", 0, 20000),
			}
			if d.Animal == "" && d.Egg == "" && d.Box == "" {
				a.blame("animal", "choose one here")
			}
			return d
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.WeighedData)
			return map[string]string{"animal": d.Animal, "egg": d.Egg, "box": d.Box, "grams": plainly(d.Grams, 2)}
		},
		doubt: func(v *visit, data any) []string { return v.jump(data.(book.WeighedData)) },
	}
}

// weightsOf are those of an animal, an egg or a box, in order.
func (v *visit) weightsOf(what, id string) []incubation.Weight {
	b := v.snap.Book
	switch {
	case what == "animal" && b.Animals[id] != nil:
		return b.Animals[id].Weights
	case what == "egg" && b.Eggs[id] != nil:
		return b.Eggs[id].Weights
	case what == "box" && b.Places[id] != nil:
		return b.Places[id].Weights
	}
	return nil
}

func (v *visit) lastWeight(what, id string) string {
	all := v.weightsOf(what, id)
	if len(all) == 0 {
		return ""
	}
	w := all[len(all)-1]
	text := "Last: " + gramsWord(w.Grams) + " on " + v.say.day(w.At) + ", " + v.say.age(w.At)
	if what == "box" && v.othersLay(id, w.At) {
		text += ", with other eggs than now"
	}
	return text
}

// othersLay reports whether a box held other eggs then than it does now.
func (v *visit) othersLay(box string, then time.Time) bool {
	for _, e := range v.snap.Book.Eggs {
		now := e.Live() && incubation.At(e.Stays, v.snap.Time) == box
		lived := e.Live() || e.Ended.After(then)
		if was := lived && incubation.At(e.Stays, then) == box; was != now {
			return true
		}
	}
	return false
}

func gramsWord(g float64) string { return plainly(g, 2) + nbsp + "g" }

// An animal that lays loses a sixth of its weight in a night; more than a
// quarter between two weighings within three months is asked about. Judgement.
const (
	jumpRatio = 0.25
	jumpDays  = 90
)

// jump doubts a weight that is far from the one before: a slip of the finger,
// or another animal on the scale. An egg's hatchling weighs less than the egg.
func (v *visit) jump(d book.WeighedData) []string {
	all := v.weightsOf("animal", d.Animal)
	if len(all) == 0 || d.Grams < 1 { // what no scale for animals shows is refused
		return nil
	}
	w := all[len(all)-1]
	ratio := d.Grams/w.Grams - 1
	if math.Abs(ratio) <= jumpRatio || v.snap.Time.Sub(w.At) > jumpDays*24*time.Hour {
		return nil
	}
	word := "more"
	if ratio < 0 {
		word = "less"
	}
	return []string{fmt.Sprintf("%s is %s %s than on %s (%s). Is it the right animal, and the right number?",
		gramsWord(d.Grams), percent(math.Abs(ratio)), word, v.say.day(w.At), gramsWord(w.Grams))}
}

func treatForm() form {
	return form{
		Kind: book.KindTreated, Title: "Treated", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{
				v.who("animal", "Animal", v.animals("", (*incubation.Animal).Here)),
				{Name: "what", Label: "What was given or done", Value: v.asked("what")},
				{Name: "until", Label: "Goes on until", Type: "date", Optional: true, Hint: "Empty: done once."},
			}
		},
		read: func(a *answers) any {
			return book.TreatedData{Animal: a.id("animal"), What: a.text("what"), Until: a.endOf("until")}
		},
		fill: func(say words, data any) map[string]string {
			d := data.(book.TreatedData)
			return map[string]string{"animal": d.Animal, "what": d.What, "until": say.typedDay(d.Until)}
		},
	}
}
