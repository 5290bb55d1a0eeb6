package web

import (
	"cmp"
	"slices"
	"strconv"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A form is the page on which one kind of entry is written. Its fields bear
// the names of the entry's data, so that a refusal finds its field.
type form struct {
	Kind   book.Kind
	Title  string // what happened, as the keeper would say it
	Verb   string // on the button
	Hint   string
	Near   bool // its button stays at the thumb, and nothing beside the question is shown
	fields func(v *visit) []field
	read   func(a *answers) any // the kind's data
	// fill gives the answers that data were read from; nil: an entry of the
	// kind is taken back, never corrected on a page.
	fill func(say words, data any) map[string]string
	// doubt says what is to be looked at again before the data are written
	// down; nil: nothing is.
	doubt func(v *visit, data any) []string
	// spare drops from the data what the book holds already; nil: all counts.
	spare func(b *book.State, data any) any
	// besides: the book offers another form for the same.
	besides bool
}

// A field is one question. Type is an input's type, "select", "textarea",
// "radio", "bellies" (radios with drawings), "toggles" (each option a field of
// its own) or "hidden": answered already, its label shown in place of the
// question.
type field struct {
	Name, Label, Hint, Type string
	Value                   string
	Options                 []option
	Taps                    []tap  // of radio, bellies and toggles
	Suffix                  string // the unit behind it
	Optional                bool
	Error                   string
	Mode                    string // which keyboard a phone shows
	Group                   string // a heading above it
	Half                    bool   // shares its line with the next
	Lacks                   string // "female" or "animal": the book has none to choose from
}

type option struct {
	Value, Text string
	Chosen      bool
}

// A tap is one answer of a field that is tapped, not typed.
type tap struct {
	Value, Text, Hint string
	Name              string // of a toggle: each is a field of its own
	Draw              string // symbol of bellies.html; "": none
	Chosen            bool
}

// forms are all kinds that can be written on a page, in the order of a day.
func forms() []form {
	return []form{
		checkForm(), pairForm(), layingForm(), weighForm(), eggForm(), candleForm(), lookedForm(), pipForm(),
		hatchForm(), milestoneForm(), sexedForm(), failForm(),
		setpointForm(), planForm(), standForm(), probeForm(), calibratedForm(), contactForm(), limitsForm(), serviceForm(),
		placeForm(),
		animalForm(), housedForm(), treatForm(), quarantineForm(), retireForm(), femaleForm(), gatesForm(), seasonForm(),
		noteForm(), voidForm(),
	}
}

func formOf(kind string) (form, bool) {
	for _, f := range forms() {
		if string(f.Kind) == kind {
			return f, true
		}
	}
	return form{}, false
}

func noteForm() form {
	return form{
		Kind: book.KindNote, Title: "Note", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{
				{Name: "text", Label: "Note", Type: "textarea"},
				{
					Name: "subject", Label: "About", Type: "select", Optional: true,
					Options: v.subjects(),
				},
			}
		},
		read: func(a *answers) any {
			return book.NoteData{
				Subject: a.text("subject"),
				Text:    a.text("text"),
			}
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.NoteData)
			return map[string]string{"text": d.Text, "subject": d.Subject}
		},
	}
}

func voidForm() form {
	return form{
		Kind: book.KindVoid, Title: "Take an entry back", Verb: "Take it back",
		Hint: "The entry stays in the book and no longer counts.",
		fields: func(v *visit) []field {
			which := field{
				Name: "entry", Label: "Entry number", Value: v.asked("entry"),
				Mode: "numeric",
			}
			n, _ := strconv.ParseUint(cmp.Or(which.Value, v.r.PostForm.Get("entry")), 10, 64)
			if e := v.teller().entry(n); e != nil {
				which.Type = "hidden"
				which.Label = v.teller().says(*e) + ", " + v.say.moment(e.At)
			}
			return []field{which, {Name: "why", Label: "Why", Optional: true}}
		},
		read: func(a *answers) any {
			n, err := strconv.ParseUint(a.text("entry"), 10, 64)
			if err != nil {
				a.blame("entry", "an entry has a number, as the book shows it")
				return nil
			}
			return book.VoidData{Entry: n, Why: a.text("why")}
		},
	}
}

// choose puts an empty choice before those of a question that must be
// answered: the first of a list is nobody's answer.
func choose(fields []field) []field {
	for i, f := range fields {
		chosen := slices.ContainsFunc(f.Options, func(o option) bool { return o.Chosen })
		if f.Type == "select" && !f.Optional && !chosen {
			fields[i].Options = append(options("", "", "choose"), f.Options...)
			fields[i].Lacks = lacking(f)
		}
	}
	return fields
}

// lacking says which animal a list is empty of: "female", or "animal" where
// any would do; "": it is not empty, or asks for none.
func lacking(f field) string {
	switch {
	case len(f.Options) > 0 || f.Name != "animal" && f.Name != "female":
		return ""
	case f.Label == "Female" || f.Name == "female":
		return "female"
	}
	return "animal"
}

// options takes values and texts in turn.
func options(chosen string, pairs ...string) []option {
	var out []option
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, option{pairs[i], pairs[i+1], pairs[i] == chosen})
	}
	return out
}

// taps takes values and texts in turn.
func taps(chosen string, pairs ...string) []tap {
	var out []tap
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, tap{Value: pairs[i], Text: pairs[i+1], Chosen: pairs[i] == chosen})
	}
	return out
}

// preset is what the address asked for, or the form that comes back holds.
func (v *visit) preset(name string) string { return cmp.Or(v.asked(name), v.r.PostForm.Get(name)) }

// asked is what the address asked the form to begin with.
func (v *visit) asked(name string) string { return v.r.URL.Query().Get(name) }

func (v *visit) subjects() []option {
	out := options("", "", "the room as a whole")
	out = append(out, v.places(v.asked("place"))...)
	for _, c := range v.snap.Clutches {
		out = append(out, option{c.ID, "clutch " + c.ID, c.ID == v.asked("clutch")})
	}
	return append(out, v.animals(v.asked("subject"), (*incubation.Animal).Here)...)
}
