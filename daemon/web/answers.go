package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// answers are what a person wrote into a form. The first thing that cannot be
// understood is kept as its problem; what follows is then of no account.
type answers struct {
	values url.Values
	say    words // how the person writes: unit and zone
	now    time.Time
	at     time.Time // when it happened, where the kind knows it itself
	wrong  *problem
}

// readForm makes an entry of a filled-in form, or says in one line what is
// wrong with it; then the entry is the zero one.
func readForm(values url.Values, say words, now time.Time) (book.Entry, *problem) {
	f, ok := formOf(values.Get("kind"))
	if !ok {
		return book.Entry{}, &problem{"kind", "this kind of entry is not known"}
	}
	a := &answers{values: values, say: say, now: now.UTC().Truncate(time.Second)}
	switch values.Get("unit") { // the unit that the page showed, whatever was chosen since
	case "°F":
		a.say.fahrenheit = true
	case "°C":
		a.say.fahrenheit = false
	}
	for name, list := range values {
		if len(list) > 1 || len(list) == 1 && !utf8.ValidString(list[0]) {
			return book.Entry{}, &problem{name, "this field cannot be read"}
		}
	}
	data := f.read(a)
	e := book.Entry{
		Request: a.request(), At: a.when(), Made: a.now, Zone: a.zone(), By: who,
		Kind: f.Kind,
	}
	if a.wrong != nil {
		return book.Entry{}, a.wrong
	}
	text, err := json.Marshal(data)
	if err != nil {
		return book.Entry{}, &problem{Text: "this entry cannot be written"}
	}
	e.Data = text
	return e, nil
}

func (a *answers) blame(field, format string, args ...any) {
	if a.wrong == nil {
		a.wrong = &problem{field, fmt.Sprintf(format, args...)}
	}
}

func (a *answers) text(name string) string { return strings.TrimSpace(a.values.Get(name)) }

func (a *answers) any(names ...string) bool {
	for _, n := range names {
		if a.text(n) != "" {
			return true
		}
	}
	return false
}

// id is a text that must be there; whether it names anything the book checks.
func (a *answers) id(name string) string {
	t := a.text(name)
	if t == "" {
		a.blame(name, "choose one here")
	}
	return t
}

func (a *answers) pair(name string) (kind, id string) {
	kind, id, _ = strings.Cut(a.text(name), ":")
	return kind, id
}

// number reads a decimal with a point or a comma; an empty field is 0.
func (a *answers) number(name string, low, high float64) float64 {
	t := a.text(name)
	if t == "" {
		return 0
	}
	t = strings.NewReplacer(",", ".", "−", "-", " ", "").Replace(t)
	n, err := strconv.ParseFloat(t, 64)
	switch {
	case err != nil || math.IsNaN(n) || math.IsInf(n, 0) || strings.ContainsAny(t, "xX_"):
		a.blame(name, "“%.20s” is not a number", a.text(name))
		return 0
	case n < low || n > high:
		a.blame(name, "%s is outside %g to %g", a.text(name), low, high)
		return 0
	}
	return n
}

func (a *answers) count(name string, low, high int) int {
	n := a.number(name, float64(low), float64(high))
	if n != math.Trunc(n) || int(n) < low {
		a.blame(name, "a whole number from %d to %d is wanted", low, high)
		return 0
	}
	return int(n)
}

// degrees reads a temperature in the person's unit.
func (a *answers) degrees(name string) incubation.Celsius {
	if a.text(name) == "" {
		a.blame(name, "a temperature is wanted here")
		return 0
	}
	low, high := a.say.degrees(0), a.say.degrees(50)
	return a.say.celsius(a.number(name, low, high))
}

// kelvin reads a difference in the person's unit; an empty field is 0.
func (a *answers) kelvin(name string) float64 { return a.say.kelvin(a.number(name, -36, 36)) }

// moment reads a date and time in the room's zone; an empty field is zero.
func (a *answers) moment(name string) time.Time {
	t := a.text(name)
	if t == "" {
		return time.Time{}
	}
	for _, form := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", time.RFC3339} {
		at, err := time.ParseInLocation(form, t, a.say.in(time.Time{}).Location())
		if err == nil && at.Year() >= 1990 && at.Year() <= 2200 {
			return at.UTC()
		}
	}
	a.blame(name, "“%.30s” is not a date and time", t)
	return time.Time{}
}

func (a *answers) need(name string) time.Time {
	t := a.moment(name)
	if t.IsZero() {
		a.blame(name, "a date and time is wanted here")
	}
	return t
}

// when is the form's own time, else that of what happened; zero is now, which
// the door fills in.
func (a *answers) when() time.Time {
	if t := a.moment("at"); !t.IsZero() {
		return t
	}
	return a.at
}

func (a *answers) zone() string { return a.say.in(time.Time{}).Location().String() }

func (a *answers) request() string {
	r := a.values.Get("request")
	if len(r) > 64 {
		a.blame("", "this form is damaged: open it again")
		return ""
	}
	return r
}

// idFrom makes an id of a name: "Box 3, top" becomes "box-3-top".
func idFrom(name string) string {
	var b strings.Builder
	dash := false
	for _, r := range strings.ToLower(name) {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			if dash && b.Len() > 0 {
				b.WriteByte('-')
			}
			b.WriteRune(r)
			dash = false
			continue
		}
		dash = true
	}
	return strings.TrimSuffix(b.String()[:min(b.Len(), 40)], "-")
}
