package web

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"

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
	fields func(v *visit) []field
	read   func(a *answers) any // the kind's data
}

// A field is one question. Type is an input's type, "select", "textarea" or
// "hidden".
type field struct {
	Name, Label, Hint, Type string
	Value                   string
	Options                 []option
	Suffix                  string // the unit behind it
	Optional                bool
	Error                   string
	Mode                    string // which keyboard a phone shows
	Group                   string // a heading above it
	Half                    bool   // shares its line with the next
}

type option struct {
	Value, Text string
	Chosen      bool
}

// forms are all kinds that can be written on a page, in the order of a day.
func forms() []form {
	return []form{layingForm(), eggForm(), candleForm(), pipForm(), hatchForm(), failForm(),
		setpointForm(), planForm(), standForm(), probeForm(), limitsForm(), placeForm(),
		femaleForm(), noteForm(), voidForm()}
}

func formOf(kind string) (form, bool) {
	for _, f := range forms() {
		if string(f.Kind) == kind {
			return f, true
		}
	}
	return form{}, false
}

func layingForm() form {
	return form{Kind: book.KindLaying, Title: "Eggs found", Verb: "Write the clutch down",
		Hint: "Lift each egg as it lies, without turning it, and mark its top.",
		fields: func(v *visit) []field {
			return []field{
				{Name: "female", Label: "Female", Type: "select", Options: v.females()},
				{Name: "from", Label: "Last looked, nothing there", Type: "datetime-local"},
				{Name: "to", Label: "Found", Type: "datetime-local",
					Hint: "Empty: now.", Optional: true},
				{Name: "eggs", Label: "Eggs", Type: "number", Value: "2", Mode: "numeric"},
				{Name: "place", Label: "Laid in", Type: "select", Optional: true,
					Options: append(options("", "", "not noted"),
						v.places(v.asked("place"), incubation.LayBox, incubation.Enclosure)...)},
				{Name: "clutch", Label: "Clutch", Value: v.nextClutch(),
					Hint: "What you write on the lid. Letters a–z, digits and dashes."},
			}
		},
		read: func(a *answers) any {
			d := book.LayingData{Clutch: a.id("clutch"), Female: a.id("female"), From: a.need("from"),
				To: a.moment("to"), Place: a.text("place")}
			if d.To.IsZero() {
				d.To = a.now
			}
			n := a.count("eggs", 1, 6)
			for i := range n {
				mark := string(rune('A' + i))
				d.Eggs = append(d.Eggs, book.EggName{Egg: d.Clutch + "-" + strings.ToLower(mark), Mark: mark})
			}
			a.at = d.To
			return d
		}}
}

func eggForm() form {
	return form{Kind: book.KindEgg, Title: "Egg put in a box", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{v.eggField(),
				{Name: "box", Label: "Box", Type: "select", Options: v.places(v.asked("place"), incubation.Box)}}
		},
		read: func(a *answers) any { return book.EggData{Egg: a.id("egg"), Box: a.id("box")} }}
}

func candleForm() form {
	return form{Kind: book.KindCandle, Title: "Candled", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{v.eggField(), {Name: "seen", Label: "Seen", Type: "select",
				Options: options("", "alive", "alive: vessels or movement", "unsure", "not sure", "dead", "dead")}}
		},
		read: func(a *answers) any { return book.CandleData{Egg: a.id("egg"), Seen: a.text("seen")} }}
}

func pipForm() form {
	return form{Kind: book.KindPip, Title: "Pipped", Verb: "Write it down",
		Hint:   "Do not cut the shell. A hatchling may rest in it for a day or two.",
		fields: func(v *visit) []field { return []field{v.eggField()} },
		read:   func(a *answers) any { return book.EggEvent{Egg: a.id("egg")} }}
}

func hatchForm() form {
	return form{Kind: book.KindHatch, Title: "Hatched", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{v.eggField(), {Name: "sex", Label: "Sex, if seen on the animal", Type: "select",
				Optional: true, Options: options("", "", "not looked at", "female", "female", "male", "male"),
				Hint: "As seen, never as expected from the temperature: the estimate learns from it."}}
		},
		read: func(a *answers) any { return book.HatchData{Egg: a.id("egg"), Sex: a.text("sex")} }}
}

func failForm() form {
	return form{Kind: book.KindFail, Title: "Egg lost", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{v.eggField(), {Name: "cause", Label: "Why, as far as you know", Optional: true}}
		},
		read: func(a *answers) any { return book.FailData{Egg: a.id("egg"), Cause: a.text("cause")} }}
}

func setpointForm() form {
	return form{Kind: book.KindSetpoint, Title: "Thermostat was set", Verb: "Write it down",
		Hint: "This writes down what the thermostat was set to. It does not set it.",
		fields: func(v *visit) []field {
			return []field{v.placeField("Incubator or place"), {Name: "celsius", Label: "Set to",
				Suffix: v.say.Unit(), Mode: "decimal"}}
		},
		read: func(a *answers) any {
			return book.SetpointData{Place: a.id("place"), Celsius: a.degrees("celsius")}
		}}
}

func standForm() form {
	return form{Kind: book.KindStand, Title: "Box moved", Verb: "Write it down",
		fields: func(v *visit) []field {
			boxes := v.places(v.asked("place"), incubation.Box, incubation.LayBox, incubation.Enclosure)
			in := append(options("", "", "nothing: taken out"),
				v.places("", incubation.Incubator, incubation.Enclosure, incubation.Room)...)
			return []field{{Name: "place", Label: "Box", Type: "select", Options: boxes},
				{Name: "in", Label: "Stands in", Type: "select", Options: in, Optional: true}}
		},
		read: func(a *answers) any { return book.StandData{Place: a.id("place"), In: a.text("in")} }}
}

func probeForm() form {
	return form{Kind: book.KindProbe, Title: "Probe put in a place", Verb: "Write it down",
		fields: func(v *visit) []field {
			places := append(options("", "", "nothing: taken out"), v.places(v.asked("place"))...)
			return []field{
				{Name: "probe", Label: "Probe", Type: "select", Options: v.probes()},
				{Name: "place", Label: "Sits in", Type: "select", Options: places, Optional: true},
				{Name: "position", Label: "Where exactly", Type: "select", Optional: true,
					Options: options("", "", "an enclosure or the room",
						string(incubation.Substrate), positionWord(incubation.Substrate),
						string(incubation.BoxAir), positionWord(incubation.BoxAir),
						string(incubation.IncubatorAir), positionWord(incubation.IncubatorAir)),
					Hint: "Box air and egg can differ by about 2 °C, so the estimate is surer beside the eggs."},
				{Name: "offset_kelvin", Label: "Add to its value", Optional: true, Suffix: v.say.Unit(),
					Mode: "text", Hint: "From an ice bath or a reference thermometer. Empty: nothing."},
				{Name: "accuracy_kelvin", Label: "Then right to within", Optional: true, Suffix: v.say.Unit(),
					Mode: "decimal", Hint: "Of that calibration. Empty: the maker's figure."},
			}
		},
		read: func(a *answers) any {
			return book.ProbeData{Probe: a.id("probe"), Place: a.text("place"),
				Position:     incubation.Position(a.text("position")),
				OffsetKelvin: a.kelvin("offset_kelvin"), AccuracyKelvin: a.kelvin("accuracy_kelvin")}
		}}
}

func placeForm() form {
	return form{Kind: book.KindPlace, Title: "Place set up or renamed", Verb: "Write it down",
		fields: func(v *visit) []field {
			p := placeOf(v.snap, v.asked("place"))
			id, name, kind := "", "", string(incubation.Incubator)
			if p != nil {
				id, name, kind = p.ID, p.Name, string(p.Kind)
			}
			return []field{
				{Name: "name", Label: "Name", Value: name, Hint: "As it is written on it: “Box 3”."},
				{Name: "place_kind", Label: "It is", Type: "select", Options: options(kind,
					"incubator", "an incubator", "box", "an egg box", "lay-box", "a lay box",
					"enclosure", "an enclosure", "room", "the room")},
				{Name: "place", Label: "Id", Value: id, Optional: true,
					Hint: "Stays for ever. Empty: made from the name."},
				{Name: "gone", Label: "Still in use", Type: "select", Optional: true,
					Options: options("", "", "yes", "yes", "no: its history stays")},
			}
		},
		read: func(a *answers) any {
			return book.PlaceData{Place: cmp.Or(a.text("place"), idFrom(a.text("name"))),
				Kind: incubation.PlaceKind(a.text("place_kind")), Name: a.text("name"), Gone: a.text("gone") == "yes"}
		}}
}

func femaleForm() form {
	return form{Kind: book.KindFemale, Title: "Female added or renamed", Verb: "Write it down",
		fields: func(*visit) []field {
			return []field{{Name: "name", Label: "Name"}, {Name: "female", Label: "Id", Optional: true,
				Hint: "Stays for ever. Empty: made from the name."}}
		},
		read: func(a *answers) any {
			return book.FemaleData{Female: cmp.Or(a.text("female"), idFrom(a.text("name"))), Name: a.text("name")}
		}}
}

func noteForm() form {
	return form{Kind: book.KindNote, Title: "Note", Verb: "Write it down",
		fields: func(v *visit) []field {
			return []field{{Name: "text", Label: "Note", Type: "textarea"},
				{Name: "subject", Label: "About", Type: "select", Optional: true, Options: v.subjects()}}
		},
		read: func(a *answers) any { return book.NoteData{Subject: a.text("subject"), Text: a.text("text")} }}
}

func voidForm() form {
	return form{Kind: book.KindVoid, Title: "Take an entry back", Verb: "Take it back",
		Hint: "The entry stays in the book and no longer counts.",
		fields: func(v *visit) []field {
			return []field{{Name: "entry", Label: "Entry number", Value: v.asked("entry"), Mode: "numeric"},
				{Name: "why", Label: "Why", Optional: true}}
		},
		read: func(a *answers) any {
			n, err := strconv.ParseUint(a.text("entry"), 10, 64)
			if err != nil {
				a.blame("entry", "an entry has a number, as the book shows it")
				return nil
			}
			return book.VoidData{Entry: n, Why: a.text("why")}
		}}
}

// choose puts an empty choice before those of a question that must be
// answered: the first of a list is nobody's answer.
func choose(fields []field) []field {
	for i, f := range fields {
		chosen := slices.ContainsFunc(f.Options, func(o option) bool { return o.Chosen })
		if f.Type == "select" && !f.Optional && !chosen {
			fields[i].Options = append(options("", "", "choose"), f.Options...)
		}
	}
	return fields
}

// options takes values and texts in turn.
func options(chosen string, pairs ...string) []option {
	var out []option
	for i := 0; i+1 < len(pairs); i += 2 {
		out = append(out, option{pairs[i], pairs[i+1], pairs[i] == chosen})
	}
	return out
}

// asked is what the address asked the form to begin with.
func (v *visit) asked(name string) string { return v.r.URL.Query().Get(name) }

func (v *visit) placeField(label string, kinds ...incubation.PlaceKind) field {
	return field{Name: "place", Label: label, Type: "select", Options: v.places(v.asked("place"), kinds...)}
}

// places lists those in use of the kinds; none given: of all.
func (v *visit) places(chosen string, kinds ...incubation.PlaceKind) []option {
	var out []option
	for _, p := range v.snap.Places {
		if len(kinds) == 0 || slices.Contains(kinds, p.Kind) {
			out = append(out, option{p.ID, p.Path, p.ID == chosen})
		}
	}
	return out
}

func (v *visit) eggField() field {
	f := field{Name: "egg", Label: "Egg", Type: "select"}
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			if live(e) {
				f.Options = append(f.Options, option{e.ID,
					c.ID + " " + e.Mark + " · " + cmp.Or(e.PlacePath, "nowhere yet"), e.ID == v.asked("egg")})
			}
		}
	}
	return f
}

func (v *visit) females() []option {
	var out []option
	for _, id := range slices.Sorted(maps.Keys(v.snap.Book.Females)) {
		out = append(out, option{id, v.snap.Book.Females[id].Name, id == v.asked("female")})
	}
	return out
}

// probes lists those that wait for a place first.
func (v *visit) probes() []option {
	var waiting, placed []option
	for _, p := range v.snap.Probes {
		o := option{p.ID, p.ID, p.ID == v.asked("probe")}
		if p.Place == "" {
			waiting = append(waiting, o)
			continue
		}
		if in := placeOf(v.snap, p.Place); in != nil {
			o.Text += " · now in " + in.Path
		}
		placed = append(placed, o)
	}
	return append(waiting, placed...)
}

func (v *visit) subjects() []option {
	out := options("", "", "the room as a whole")
	out = append(out, v.places(v.asked("place"))...)
	for _, c := range v.snap.Clutches {
		out = append(out, option{c.ID, "clutch " + c.ID, c.ID == v.asked("clutch")})
	}
	return append(out, v.females()...)
}
