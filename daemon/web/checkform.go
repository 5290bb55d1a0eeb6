package web

import (
	"strings"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// checkForm is made for one hand: what shows is one tap, now is the default,
// and all else may be left out. A stage and the size of its follicles are one
// answer: "follicular/small".
func checkForm() form {
	return form{
		Kind: book.KindChecked, Title: "Check", Verb: "Write it down", Near: true,
		fields: func(v *visit) []field {
			return []field{
				v.who("animal", "Female", v.lookable()),
				{Name: "stage", Label: "What shows through the skin", Type: "bellies", Taps: stageTaps()},
				{
					Name: "sides", Label: "On which sides", Type: "radio", Optional: true,
					Taps: taps("", incubation.BothSide, "both", incubation.OneSide, "one", incubation.NoSide, "none", "", "not noted"),
				},
				{Name: "signs", Label: "Also seen", Type: "toggles", Optional: true, Taps: signTaps()},
				{Name: "note", Label: "Note", Optional: true},
			}
		},
		read: readCheck,
		fill: func(_ words, data any) map[string]string { return checkAnswers(data.(book.CheckedData)) },
	}
}

func readCheck(a *answers) any {
	stage, size, _ := strings.Cut(a.id("stage"), "/")
	d := book.CheckedData{
		Animal: a.id("animal"), Stage: incubation.Stage(stage), Size: size, Sides: a.text("sides"), Note: a.text("note"),
	}
	for _, t := range signTaps() {
		if a.text(t.Name) != "" {
			d.Signs = append(d.Signs, incubation.Sign(strings.TrimPrefix(t.Name, "sign-")))
		}
	}
	return d
}

// checkAnswers are the answers that give the check again.
func checkAnswers(d book.CheckedData) map[string]string {
	out := map[string]string{
		"animal": d.Animal, "stage": string(d.Stage), "sides": d.Sides, "note": d.Note,
	}
	if d.Size != "" {
		out["stage"] += "/" + d.Size
	}
	for _, s := range d.Signs {
		out["sign-"+string(s)] = "yes"
	}
	return out
}

func stageTaps() []tap {
	small, large := "/"+incubation.Small, "/"+incubation.Large
	f := string(incubation.Follicular)
	return []tap{
		{Value: string(incubation.Quiet), Text: "quiet", Hint: "fat pads alone", Draw: "quiet"},
		{Value: f + small, Text: "small follicles", Hint: "pink, uneven", Draw: "small"},
		{Value: f + large, Text: "large follicles", Hint: "pink, uneven", Draw: "large"},
		{Value: string(incubation.Shelling), Text: "shelling", Hint: "growing pale", Draw: "shelling"},
		{Value: string(incubation.Gravid), Text: "gravid", Hint: "white eggs", Draw: "gravid"},
		{Value: string(incubation.Laid), Text: "has laid", Hint: "slack, empty", Draw: "laid"},
		{Value: string(incubation.Resorbed), Text: "resorbed", Hint: "gone, no eggs", Draw: "resorbed"},
		{Value: f, Text: "follicles", Hint: "size not told", Draw: "follicles"},
		{Value: string(incubation.Unsure), Text: "not sure", Hint: "look again", Draw: "unsure"},
	}
}

func signTaps() []tap {
	var out []tap
	for _, s := range []incubation.Sign{
		incubation.Digging, incubation.NotEating, incubation.Thin, incubation.Weak, incubation.Straining, incubation.RedBelly,
	} {
		out = append(out, tap{Name: "sign-" + string(s), Value: "yes", Text: signWord(s)})
	}
	return out
}

// drawOf is the symbol of what a check saw.
func drawOf(c *incubation.Check) string {
	switch {
	case c == nil:
		return ""
	case c.Stage == incubation.Follicular && c.Size != "":
		return c.Size
	case c.Stage == incubation.Follicular:
		return "follicles"
	}
	return string(c.Stage)
}

// sawWords tells a check without who and when.
func sawWords(c incubation.Check) string {
	said := teller{book: &book.State{}}.checkedSays(book.CheckedData{
		Stage: c.Stage, Sides: c.Sides, Size: c.Size, Signs: c.Signs,
	})
	return strings.TrimPrefix(said, ": ")
}

// A repeat is the one-tap form that writes the last check's values again.
type repeat struct {
	Answers         map[string]string
	Says, Ago       string
	Request, Return string
	Seen            uint64
}

// repeatOf offers what was seen last, unless that was a doubt or is seen once
// only, or she laid since.
func (v *visit) repeatOf(a *incubation.Animal, back string) *repeat {
	if a == nil || a.Last() == nil {
		return nil
	}
	c := *a.Last()
	if c.Stage == incubation.Unsure || !repeatable(&c) {
		return nil
	}
	for _, k := range v.snap.Book.Clutches {
		if k.Female == a.ID && k.Laid.To.After(c.At) {
			return nil
		}
	}
	return &repeat{
		Answers: checkAnswers(book.CheckedData{Animal: a.ID, Stage: c.Stage, Sides: c.Sides, Size: c.Size, Signs: c.Signs}),
		Says:    sawWords(c), Ago: v.say.age(c.At), Request: newRequest(), Return: back, Seen: v.snap.Book.LastSeq,
	}
}
