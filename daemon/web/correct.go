package web

import (
	"bytes"
	"encoding/json"
	"hash/fnv"
	"net/url"
	"slices"
	"strconv"
	"time"

	"clutchd/incubation/book"
)

const (
	typedMoment = "2006-01-02T15:04"
	typedDate   = time.DateOnly
)

// typed writes a time as a form's field holds it; zero is an empty field.
func (w words) typed(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return w.in(t).Format(typedMoment)
}

func (w words) typedDay(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return w.in(t).Format(typedDate)
}

// endOf reads a day and gives its last minute in the room's zone; an empty
// field is zero.
func (a *answers) endOf(name string) time.Time {
	text := a.text(name)
	if text == "" {
		return time.Time{}
	}
	t, err := time.ParseInLocation(typedDate, text, a.say.in(time.Time{}).Location())
	if err != nil || t.Year() < 1990 || t.Year() > 2200 {
		a.blame(name, "“%.30s” is not a day", text)
		return time.Time{}
	}
	return t.AddDate(0, 0, 1).Add(-time.Minute).UTC()
}

// correctable gives an entry that still counts and the form that writes its
// kind anew; nil if there is none.
func (v *visit) correctable(seq uint64) (*book.Entry, form) {
	e := v.teller().entry(seq)
	if e == nil || v.snap.Book.Voided[seq] {
		return nil, form{}
	}
	f, ok := formOf(string(e.Kind))
	if !ok || f.fill == nil {
		return nil, form{}
	}
	return e, f
}

// replaced is the entry that a form is to stand for; nil: it is a new one.
func (v *visit) replaced(values url.Values) *book.Entry {
	n, err := strconv.ParseUint(values.Get("replaces"), 10, 64)
	if err != nil {
		return nil
	}
	e, _ := v.correctable(n)
	return e
}

// refill opens the form of an entry with what it says.
func (v *visit) refill(e *book.Entry, f form, b *formBody) error {
	data, err := book.Decode(*e)
	if err != nil {
		return missing{"form for entry " + strconv.FormatUint(e.Seq, 10)}
	}
	was := f.fill(v.say, data)
	v.r.PostForm = url.Values{} // what the fields are asked about
	for name, text := range was {
		v.r.PostForm.Set(name, text)
	}
	b.Fields = choose(f.fields(v))
	answer(b.Fields, v.r.PostForm)
	b.Replaces, b.At, b.Was = e.Seq, v.say.typed(e.At), v.teller().says(*e)+", "+v.say.moment(e.At)
	return nil
}

// answer puts what was typed into the fields.
func answer(fields []field, values url.Values) {
	for i := range fields {
		n := &fields[i]
		if n.Type != "hidden" || values.Has(n.Name) {
			n.Value = values.Get(n.Name)
		}
		for j := range n.Options {
			n.Options[j].Chosen = n.Options[j].Value == n.Value
		}
		for j := range n.Taps {
			t := &n.Taps[j]
			t.Chosen = t.Name == "" && t.Value == n.Value || t.Name != "" && values.Get(t.Name) != ""
		}
	}
}

// finish puts into the entry what the form does not ask: which entry it stands
// for, and its time to the second if that was not touched; and leaves out what
// the book says already.
func (v *visit) finish(f form, e *book.Entry, values url.Values) {
	// The number that the form was opened with, whatever became of that entry
	// since: the door refuses to correct what no longer counts.
	e.Replaces, _ = strconv.ParseUint(values.Get("replaces"), 10, 64)
	if old := v.replaced(values); old != nil {
		if at := values.Get("at"); at == "" || at == v.say.typed(old.At) {
			e.At = old.At
		}
	}
	if f.spare == nil || e.Replaces != 0 {
		return
	}
	data, err := book.Decode(book.Entry{Kind: e.Kind, Data: e.Data, At: v.snap.Time})
	if err != nil {
		return // the door says why
	}
	if text, err := json.Marshal(f.spare(v.snap.Book, data)); err == nil {
		e.Data = text
	}
}

// doubts are what is asked again before an entry is written: what another
// page or phone wrote about the same animals since the form was opened, and
// what looks like a slip. Those that the form was sent with are answered.
func (v *visit) doubts(f form, e book.Entry, values url.Values) (lines []string, answered string) {
	if v.known(e.Request) {
		return nil, "" // a second tap: the door gives what it gave
	}
	data, err := book.Decode(book.Entry{Kind: e.Kind, Data: e.Data, At: v.snap.Time})
	if err != nil {
		return nil, ""
	}
	if seen, err := strconv.ParseUint(values.Get("latest"), 10, 64); err == nil {
		lines = v.meanwhile(animalsOf(data), seen)
	}
	if f.doubt != nil {
		lines = append(lines, f.doubt(v, data)...)
	}
	if len(lines) == 0 {
		return nil, ""
	}
	h := fnv.New64a()
	for _, l := range lines {
		_, _ = h.Write([]byte(l))
	}
	answered = strconv.FormatUint(h.Sum64(), 36)
	if values.Get("sure") == answered {
		return nil, ""
	}
	return lines, answered
}

// known reports whether a request was written down before.
func (v *visit) known(request string) bool {
	return request != "" && slices.ContainsFunc(v.snap.Book.Entries, func(e book.Entry) bool { return e.Request == request })
}

// meanwhile tells what was written about the animals after an entry.
func (v *visit) meanwhile(animals []string, seen uint64) []string {
	var out []string
	b := v.snap.Book
	for _, e := range b.Entries {
		if e.Seq <= seen || b.Voided[e.Seq] {
			continue
		}
		data, err := book.Decode(e)
		if err != nil {
			continue
		}
		about := animalsOf(data)
		if slices.ContainsFunc(animals, func(a string) bool { return slices.Contains(about, a) }) {
			out = append(out, "Since this form was opened: "+v.teller().says(e)+", "+v.say.moment(e.At)+".")
		}
	}
	return out
}

// animalsOf are the animals that an entry's data are about.
func animalsOf(data any) []string {
	switch d := data.(type) {
	case book.FemaleData:
		return []string{d.Female}
	case book.AnimalData:
		return []string{d.Animal}
	case book.HousedData:
		return []string{d.Animal}
	case book.CheckedData:
		return []string{d.Animal}
	case book.PairedData:
		return []string{d.Female, d.Male}
	case book.WeighedData:
		if d.Animal != "" {
			return []string{d.Animal}
		}
	case book.TreatedData:
		return []string{d.Animal}
	case book.QuarantineData:
		return []string{d.Animal}
	case book.RetiredData:
		return []string{d.Animal}
	case book.PhotoData:
		return []string{d.Animal}
	case book.LayingData:
		return []string{d.Female}
	case book.NoteData:
		return []string{d.Subject}
	}
	return nil
}

// about are the entries that name an animal, newest first. Most entries are
// about others: those are not decoded.
func (v *visit) about(animal string) []book.Entry {
	var out []book.Entry
	quoted := []byte(`"` + animal + `"`)
	all := v.snap.Book.Entries
	for i := len(all) - 1; i >= 0; i-- {
		if !bytes.Contains(all[i].Data, quoted) {
			continue
		}
		if data, err := book.Decode(all[i]); err == nil && slices.Contains(animalsOf(data), animal) {
			out = append(out, all[i])
		}
	}
	return out
}
