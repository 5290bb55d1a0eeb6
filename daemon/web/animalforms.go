package web

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// animals are those of a kind, by name.
func (v *visit) animals(chosen string, keep func(*incubation.Animal) bool) []option {
	var out []option
	for id, a := range v.snap.Book.Animals {
		if keep(a) {
			out = append(out, option{id, v.snap.Book.Name(id), id == chosen})
		}
	}
	slices.SortFunc(out, func(a, b option) int {
		return cmp.Or(strings.Compare(strings.ToLower(a.Text), strings.ToLower(b.Text)), strings.Compare(a.Value, b.Value))
	})
	return out
}

// lookable are the animals whose belly may be looked at: not known to be male.
func (v *visit) lookable() []option {
	return v.animals("", func(a *incubation.Animal) bool { return a.Sex != incubation.Male && a.Here() })
}

// who asks which animal, unless the address or the form says so already.
func (v *visit) who(name, label string, from []option) field {
	id := v.preset(name)
	if a := v.snap.Book.Animals[id]; a != nil {
		return field{Name: name, Type: "hidden", Value: id, Label: v.called(a)}
	}
	return field{Name: name, Label: label, Type: "select", Options: from}
}

// called names an animal and says where it lives.
func (v *visit) called(a *incubation.Animal) string {
	out := v.snap.Book.Name(a.ID)
	if slot := v.slotOf(a); slot != "" {
		out += " · " + slot
	}
	return out
}

// slotOf says where in the racks an animal lives, or its enclosure's name; "":
// in none.
func (v *visit) slotOf(a *incubation.Animal) string {
	p := v.snap.Book.Places[incubation.At(a.Stays, v.snap.Time)]
	switch {
	case p == nil:
		return ""
	case p.Slot > 0:
		return slotWord(p)
	}
	return p.Name
}

// slotWord names an enclosure's slot in the racks.
func slotWord(p *incubation.Place) string {
	if p.Rack == "" {
		return "slot " + strconv.Itoa(p.Slot)
	}
	return p.Rack + ", slot " + strconv.Itoa(p.Slot)
}

func animalForm() form {
	return form{
		Kind: book.KindAnimal, Title: "Animal added or changed", Verb: "Write it down",
		fields: animalFields, read: readAnimal,
		fill: func(_ words, data any) map[string]string {
			d := data.(book.AnimalData)
			return map[string]string{
				"animal": d.Animal, "name": d.Name, "sex": d.Sex, "hatched": d.Hatched, "age_class": string(d.AgeClass),
				"dam": d.Dam, "sire": d.Sire, "egg": d.Egg, "note": d.Note,
			}
		},
		spare: spareAnimal,
		doubt: func(v *visit, data any) []string {
			d := data.(book.AnimalData)
			return append(v.sameName("animal", d.Animal), v.emptied(d.Animal)...)
		},
	}
}

// sameName doubts a new thing whose id, made from its name, another one bears:
// it would change that one.
func (v *visit) sameName(field, id string) []string {
	if v.r.PostForm.Get(field) != "" {
		return nil
	}
	name := ""
	if a := v.snap.Book.Animals[id]; a != nil {
		name = v.snap.Book.Name(id)
	} else if p := v.snap.Book.Places[id]; p != nil {
		name = p.Name
	}
	if name == "" {
		return nil
	}
	return []string{name + " is in the book already, and this would change that one. For another one write a name, " +
		"or an id, that is its own."}
}

// emptied doubts a field that was emptied: an entry that says less takes
// nothing back.
func (v *visit) emptied(id string) []string {
	a := v.snap.Book.Animals[id]
	if a == nil || v.r.PostForm.Get("replaces") != "" {
		return nil
	}
	var out []string
	for _, f := range []struct{ field, word, has string }{
		{"name", "name", a.Name},
		{"hatched", "day of hatching", a.Hatched},
		{"dam", "dam", v.snap.Book.Name(a.Dam)},
		{"sire", "sire", v.snap.Book.Name(a.Sire)},
		{"note", "note", a.Note},
	} {
		if v.r.PostForm.Has(f.field) && v.r.PostForm.Get(f.field) == "" && f.has != "" {
			out = append(out, fmt.Sprintf("The %s stays “%s”: to take it away, correct the entry that says so, in the list "+
				"of entries on the animal’s page.", f.word, short(f.has)))
		}
	}
	return out
}

func animalFields(v *visit) []field {
	a := v.snap.Book.Animals[v.preset("animal")]
	id := field{Name: "animal", Label: "Id", Optional: true, Hint: "Stays for ever. Empty: made from the name."}
	if a != nil {
		id.Type, id.Value, id.Label = "hidden", a.ID, v.called(a)
	} else {
		a = &incubation.Animal{Sex: v.asked("sex"), Dam: v.asked("dam"), Egg: v.preset("egg"), Name: v.asked("name")}
		if egg := v.snap.Book.Eggs[a.Egg]; egg != nil {
			a.Hatched = v.say.in(egg.Ended).Format(time.DateOnly)
		}
	}
	other := func(name, label, chosen, wrong string) field {
		return field{
			Name: name, Label: label, Type: "select", Optional: true, Half: true,
			Options: append(options(chosen, "", "not known"), v.animals(chosen, func(o *incubation.Animal) bool {
				return o.Sex != wrong && o.ID != a.ID
			})...),
		}
	}
	out := []field{
		{Name: "name", Label: "Name or number", Value: a.Name},
		{Name: "sex", Label: "It is", Type: "radio", Taps: taps(a.Sex, incubation.Female, "a female", incubation.Male, "a male", "", "not known")},
		{
			Name: "hatched", Label: "Hatched", Value: a.Hatched, Optional: true,
			Hint: "As far as you know: 2023, 2023-05 or 2023-05-14.",
		},
		{Name: "age_class", Label: "Or it looks", Type: "radio", Optional: true, Taps: taps(string(a.AgeClass),
			string(incubation.Young), "young", string(incubation.Subadult), "half grown", string(incubation.Adult), "adult", "", "not noted")},
		other("dam", "Dam", a.Dam, incubation.Male), other("sire", "Sire", a.Sire, incubation.Female),
		{Name: "note", Label: "Note", Type: "textarea", Value: a.Note, Optional: true},
		id,
	}
	if a.Egg != "" {
		out = append(out, field{Name: "egg", Type: "hidden", Value: a.Egg})
	}
	return out
}

func readAnimal(a *answers) any {
	d := book.AnimalData{
		Animal: cmp.Or(a.text("animal"), idFrom(a.text("name"))), Name: a.text("name"), Sex: a.text("sex"),
		Hatched: partOfDate(a.text("hatched")), AgeClass: incubation.AgeClass(a.text("age_class")),
		Dam: a.text("dam"), Sire: a.text("sire"), Egg: a.text("egg"), Note: a.text("note"),
	}
	if d.Animal == "" && d.Name != "" {
		a.blame("animal", "no id can be made of this name: give one of letters a–z, digits and dashes")
	}
	return d
}

// partOfDate turns the ways in which people write a year, a month or a day
// into the book's; what it does not know stays as it is, for the book to
// refuse.
func partOfDate(text string) string {
	for _, form := range []struct{ in, out string }{
		{"2.1.2006", time.DateOnly},
		{"2 Jan 2006", time.DateOnly},
		{"2 January 2006", time.DateOnly},
		{"2006-1-2", time.DateOnly},
		{"2006-1", "2006-01"},
		{"1/2006", "2006-01"},
		{"1.2006", "2006-01"},
		{"Jan 2006", "2006-01"},
		{"January 2006", "2006-01"},
		{"2006", "2006"},
	} {
		if t, err := time.Parse(form.in, text); err == nil {
			return t.Format(form.out)
		}
	}
	return text
}

// spareAnimal leaves what the book says of an animal already.
func spareAnimal(b *book.State, data any) any {
	d := data.(book.AnimalData)
	a := b.Animals[d.Animal]
	if a == nil {
		return d
	}
	for _, f := range []struct {
		said *string
		has  string
	}{
		{&d.Name, a.Name},
		{&d.Sex, a.Sex},
		{&d.Hatched, a.Hatched},
		{&d.Dam, a.Dam},
		{&d.Sire, a.Sire},
		{&d.Egg, a.Egg},
		{&d.Note, a.Note},
	} {
		if *f.said == f.has {
			*f.said = ""
		}
	}
	if d.AgeClass == a.AgeClass {
		d.AgeClass = ""
	}
	return d
}

func housedForm() form {
	return form{
		Kind: book.KindHoused, Title: "Animal put into an enclosure", Verb: "Write it down",
		fields: func(v *visit) []field {
			in := field{Name: "enclosure", Label: "Enclosure", Type: "select", Options: v.enclosures(v.preset("enclosure"))}
			if len(in.Options) == 1 {
				in.Hint = "No enclosure is set up yet: the book, “Place set up”, does that."
			}
			return []field{v.who("animal", "Animal", v.animals("", (*incubation.Animal).Here)), in}
		},
		read: func(a *answers) any {
			d := book.HousedData{Animal: a.id("animal"), Enclosure: a.id("enclosure")}
			if d.Enclosure == "." {
				d.Enclosure = ""
			}
			return d
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.HousedData)
			return map[string]string{"animal": d.Animal, "enclosure": cmp.Or(d.Enclosure, ".")}
		},
	}
}

// enclosures are those in use, in the racks' order, each with who lives there.
func (v *visit) enclosures(chosen string) []option {
	b := v.snap.Book
	lives := map[string][]string{}
	for _, id := range slices.Sorted(maps.Keys(b.Animals)) {
		if in := incubation.At(b.Animals[id].Stays, v.snap.Time); in != "" {
			lives[in] = append(lives[in], b.Name(id))
		}
	}
	var all []*incubation.Place
	for _, p := range b.Places {
		if p.Kind == incubation.Enclosure && !b.Gone[p.ID] {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, bySlot)
	var out []option
	for _, p := range all {
		text := p.Name
		if p.Slot > 0 {
			text = slotWord(p) + " · " + text
		}
		if who := lives[p.ID]; len(who) > 0 {
			text += " (" + list(who) + ")"
		}
		out = append(out, option{p.ID, text, p.ID == chosen})
	}
	return append(out, option{".", "taken out, into none", chosen == "."})
}

func quarantineForm() form {
	return form{
		Kind: book.KindQuarantine, Title: "Quarantine", Verb: "Write it down",
		Hint: "Kept apart, with tools of its own, looked after last. A newcomer often one to three months " +
			"(common practice, no source).",
		fields: func(v *visit) []field {
			who := v.who("animal", "Animal", v.animals("", (*incubation.Animal).Here))
			if v.preset("over") == "yes" {
				return []field{
					who,
					{Name: "over", Type: "hidden", Value: "yes", Label: "The quarantine is over"},
					{Name: "why", Label: "Why", Optional: true},
				}
			}
			return []field{
				who, {Name: "until", Label: "Until", Type: "date"}, {Name: "why", Label: "Why", Optional: true},
			}
		},
		read: func(a *answers) any {
			d := book.QuarantineData{Animal: a.id("animal"), Until: a.endOf("until"), Why: a.text("why")}
			if d.Until.IsZero() && !a.any("over") {
				a.blame("until", "a day is wanted here")
			}
			return d
		},
		fill: func(say words, data any) map[string]string {
			d := data.(book.QuarantineData)
			out := map[string]string{"animal": d.Animal, "until": say.typedDay(d.Until), "why": d.Why}
			if d.Until.IsZero() {
				out["over"] = "yes"
			}
			return out
		},
	}
}

func retireForm() form {
	return form{
		Kind: book.KindRetired, Title: "Rests, left or died", Verb: "Write it down",
		fields: func(v *visit) []field {
			if v.preset("again") == "yes" {
				return []field{
					v.who("animal", "Animal", nil),
					{Name: "again", Type: "hidden", Value: "yes", Label: "It breeds again, or is back"},
					{Name: "note", Label: "Note", Optional: true},
				}
			}
			return []field{
				v.who("animal", "Animal", v.animals("", (*incubation.Animal).Here)),
				{Name: "why", Label: "It", Type: "radio", Taps: taps("", string(incubation.Resting), "rests from breeding",
					string(incubation.Sold), "was sold", string(incubation.Given), "was given away", string(incubation.Died), "died")},
				{Name: "note", Label: "Note", Optional: true},
			}
		},
		read: func(a *answers) any {
			d := book.RetiredData{Animal: a.id("animal"), Note: a.text("note"), Back: a.text("again") == "yes"}
			if !d.Back {
				d.Why = incubation.Leaving(a.id("why"))
			}
			return d
		},
		fill: func(_ words, data any) map[string]string {
			d := data.(book.RetiredData)
			out := map[string]string{"animal": d.Animal, "why": string(d.Why), "note": d.Note}
			if d.Back {
				out["again"] = "yes"
			}
			return out
		},
	}
}
