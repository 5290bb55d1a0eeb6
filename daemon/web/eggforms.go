package web

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func layingForm() form {
	return form{
		Kind: book.KindLaying, Title: "Eggs found", Verb: "Write the clutch down", Near: true,
		Hint: "Mark the top of each egg before you lift it, and lift it without turning it.",
		fields: func(v *visit) []field {
			return []field{
				v.who("female", "Female", v.females()),
				{
					Name: "ago", Label: "Last looked, nothing there", Type: "radio", Taps: taps("", "12", "12 h before", "24", "a day before",
						"48", "2 days before", "72", "3 days before", "", "at a time:"),
				},
				{Name: "from", Label: "At a time", Type: "datetime-local", Optional: true},
				{
					Name: "to", Label: "Found", Type: "datetime-local",
					Hint: "Empty: now.", Optional: true,
				},
				{Name: "eggs", Label: "Eggs", Type: "number", Value: "2", Mode: "numeric"},
				{
					Name: "place", Label: "Laid in", Type: "select", Optional: true,
					Options: append(options("", "", "not noted"),
						v.places(cmp.Or(v.asked("place"), v.layBoxOf(v.preset("female"))), incubation.LayBox, incubation.Enclosure)...),
				},
				{
					Name: "clutch", Label: "Clutch", Value: v.nextClutch(v.preset("female")),
					Hint: "What you write on the lid. Letters a–z, digits and dashes.",
				},
			}
		},
		read: func(a *answers) any {
			d := book.LayingData{
				Clutch: a.id("clutch"), Female: a.id("female"), To: a.moment("to"), Place: a.text("place"),
			}
			if d.To.IsZero() {
				d.To = a.now
			}
			if d.From = a.moment("from"); d.From.IsZero() && a.any("ago") {
				d.From = d.To.Add(-time.Duration(a.count("ago", 1, 24*60)) * time.Hour)
			} else if d.From.IsZero() {
				a.blame("from", "a date and time is wanted here, or a tap above")
			}
			n := a.count("eggs", 1, 6)
			for i := range n {
				mark := string(rune('A' + i))
				d.Eggs = append(d.Eggs, book.EggName{
					Egg:  d.Clutch + "-" + strings.ToLower(mark),
					Mark: mark,
				})
			}
			a.at = d.To
			return d
		},
		doubt: func(v *visit, data any) []string { return v.soonAgain(data.(book.LayingData)) },
	}
}

// soonest is under which interval a second laying looks like another female's,
// and earliest how long before its window a hatch looks like another egg's.
// Judgement, both.
const (
	soonest  = 10 * 24 * time.Hour
	earliest = 5 * 24 * time.Hour
	youngest = 25 * 24 * time.Hour // of an egg without a window
)

// soonAgain doubts a laying of a female that laid a few days ago.
func (v *visit) soonAgain(d book.LayingData) []string {
	for _, c := range v.snap.Book.Clutches {
		if gap := d.To.Sub(c.Laid.To); c.Female == d.Female && c.ID != d.Clutch && gap.Abs() < soonest {
			return []string{fmt.Sprintf("Eggs of %s were found on %s too, %s. Is it the right female?",
				v.snap.Book.Name(d.Female), v.say.day(c.Laid.To), clutchTitle(c.ID))}
		}
	}
	return nil
}

// early doubts the hatch or pipping of an egg long before it can be: what
// hatched teaches the estimates of all live eggs.
func (v *visit) early(egg string) []string {
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			if e.ID != egg || !live(e) || e.State == incubation.Pipped {
				continue
			}
			name := c.Name + " " + e.Mark + " is on " + dayOf(c.Laid, v.snap.Time)
			switch {
			case e.Estimate != nil && !e.Hatch.Earliest.IsZero():
				if v.snap.Time.Before(e.Hatch.Earliest.Add(-earliest)) {
					return []string{name + ", and its hatch is expected " + v.say.days(e.Hatch.Earliest, e.Hatch.Latest) +
						". Is it the right egg?"}
				}
			case v.snap.Time.Sub(c.Laid.To) < youngest:
				return []string{name + ". Is it the right egg?"}
			}
		}
	}
	return nil
}

func eggForm() form {
	return form{
		Kind: book.KindEgg, Title: "Egg put in a box", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{
				v.eggField(),
				{Name: "box", Label: "Box", Type: "select", Options: v.places(v.asked("place"),
					incubation.Box)},
			}
		},
		read: func(a *answers) any { return book.EggData{Egg: a.id("egg"), Box: a.id("box")} },
		fill: func(_ words, data any) map[string]string {
			d := data.(book.EggData)
			return map[string]string{"egg": d.Egg, "box": d.Box}
		},
	}
}

func pipForm() form {
	return form{
		Kind: book.KindPip, Title: "Pipped", Verb: "Write it down",
		Hint: "Do not cut the shell and do not pull. A hatchling may rest in it for a day or two " +
			"(common practice, no source).",
		fields: func(v *visit) []field { return []field{v.eggField()} },
		read:   func(a *answers) any { return book.EggEvent{Egg: a.id("egg")} },
		doubt:  func(v *visit, data any) []string { return v.early(data.(book.EggEvent).Egg) },
		fill:   func(_ words, data any) map[string]string { return map[string]string{"egg": data.(book.EggEvent).Egg} },
	}
}

func hatchForm() form {
	return form{
		Kind: book.KindHatch, Title: "Hatched", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{v.eggField(), {
				Name: "sex", Label: "Sex, if seen on the animal",
				Type:     "select",
				Optional: true, Options: options("", "", "not looked at", "female", "female",
					"male", "male"),
				Hint: "As seen, never as expected from the temperature. It is hard to see on the day: " +
					"look again at two to four months.",
			}, {
				Name: "grams", Label: "Weight of the hatchling", Optional: true, Mode: "decimal", Suffix: "g",
			}}
		},
		read: func(a *answers) any {
			return book.HatchData{Egg: a.id("egg"), Sex: a.text("sex"), Grams: a.number("grams", 0, 250)}
		},
		doubt: func(v *visit, data any) []string { return v.early(data.(book.HatchData).Egg) },
		fill: func(_ words, data any) map[string]string {
			d := data.(book.HatchData)
			out := map[string]string{"egg": d.Egg, "sex": d.Sex}
			if d.Grams != 0 {
				out["grams"] = plainly(d.Grams, 2)
			}
			return out
		},
	}
}

// lostTo are causes to tap; what is known besides is written behind one.
var lostTo = [...]string{
	"not fertile: clear to the end", "stopped early: a ring", "stopped late, fully formed", "dried out or collapsed",
	"mould, after it had stopped", "too warm", "too cold", "damaged or turned", "did not get out of its shell",
}

func failForm() form {
	return form{
		Kind: book.KindFail, Title: "Egg lost", Verb: "Write it down",
		Hint: careMould + " " + careSmell + practice,
		fields: func(v *visit) []field {
			cause := field{Name: "cause", Label: "Why, as far as you know", Type: "radio", Optional: true}
			for _, text := range lostTo {
				cause.Taps = append(cause.Taps, tap{Value: text, Text: text})
			}
			cause.Taps = append(cause.Taps, tap{Text: "not known", Chosen: true})
			return []field{v.eggField(), cause, {Name: "more", Label: "In your own words", Optional: true}}
		},
		read: func(a *answers) any {
			cause, more := a.text("cause"), a.text("more")
			if cause != "" && more != "" {
				cause += "; "
			}
			return book.FailData{Egg: a.id("egg"), Cause: cause + more}
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.FailData)
			out := map[string]string{"egg": d.Egg, "more": d.Cause}
			for _, text := range lostTo {
				if rest, ok := cutPrefix(d.Cause, text); ok {
					out["cause"], out["more"] = text, rest
				}
			}
			return out
		},
	}
}

// cutPrefix takes a cause off what was written down; false: it is another.
func cutPrefix(whole, cause string) (rest string, ok bool) {
	switch n := len(cause); {
	case whole == cause:
		return "", true
	case len(whole) > n+2 && whole[:n+2] == cause+"; ":
		return whole[n+2:], true
	}
	return "", false
}

func femaleForm() form {
	return form{
		Kind: book.KindFemale, Title: "Female added or renamed", Verb: "Write it down", besides: true,
		fields: func(*visit) []field {
			return []field{{Name: "name", Label: "Name"}, {
				Name: "female", Label: "Id",
				Optional: true,
				Hint:     "Stays for ever. Empty: made from the name.",
			}}
		},
		read: func(a *answers) any {
			return book.FemaleData{
				Female: cmp.Or(a.text("female"), idFrom(a.text("name"))),
				Name:   a.text("name"),
			}
		},
		doubt: func(v *visit, data any) []string { return v.sameName("female", data.(book.FemaleData).Female) },
		fill: func(_ words, data any) map[string]string {
			d := data.(book.FemaleData)
			return map[string]string{"name": d.Name, "female": d.Female}
		},
	}
}

func (v *visit) eggField() field {
	if id := v.r.PostForm.Get("egg"); v.snap.Book.Eggs[id] != nil && !v.snap.Book.Eggs[id].Live() {
		return field{Name: "egg", Type: "hidden", Value: id, Label: v.teller().egg(id)} // of an entry that is corrected
	}
	if id := v.asked("egg"); v.snap.Book.Eggs[id] != nil && v.snap.Book.Eggs[id].Live() {
		return field{Name: "egg", Type: "hidden", Value: id, Label: v.teller().egg(id)}
	}
	f := field{Name: "egg", Label: "Egg", Type: "select"}
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			if live(e) {
				f.Options = append(f.Options, option{
					e.ID,
					c.ID + " " + e.Mark + " · " + cmp.Or(e.PlacePath, "nowhere yet"),
					e.ID == v.asked("egg"),
				})
			}
		}
	}
	return f
}

// layBoxOf is the lay box that stands in a female's enclosure; "": there is
// none.
func (v *visit) layBoxOf(female string) string {
	a := v.snap.Book.Animals[female]
	if a == nil {
		return ""
	}
	in := incubation.At(a.Stays, v.snap.Time)
	for _, p := range v.snap.Places {
		if p.Kind == incubation.LayBox && p.In != "" && p.In == in {
			return p.ID
		}
	}
	return ""
}

func (v *visit) females() []option {
	return v.animals(v.preset("female"), func(a *incubation.Animal) bool {
		return a.Sex == incubation.Female && a.Here()
	})
}
