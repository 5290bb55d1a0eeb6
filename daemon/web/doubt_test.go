package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// What looks like a slip is asked about once, and written down when it is sent
// again; the book itself would take it.
func TestSlipsAreAskedAbout(t *testing.T) {
	for _, c := range []struct {
		sentence, address string
		fill              []string
		asks              string // "": nothing
	}{
		{
			"an egg of day 2 has hatched", "/entries/new?kind=hatch&egg=k4-a",
			nil, "Is it the right egg?",
		},
		{"one pips three weeks before its window", "/entries/new?kind=pip&egg=k3-b", nil, "Is it the right egg?"},
		{"one hatches in its window", "/entries/new?kind=hatch&egg=k2-a", nil, ""},
		{
			"she laid two days ago", "/entries/new?kind=laying&female=f-pepper",
			[]string{"ago", "12"},
			"Is it the right female?",
		},
		{"she laid a month ago", "/entries/new?kind=laying&female=f-saffron", []string{"ago", "12"}, ""},
		{
			"a second animal of one name", "/entries/new?kind=animal",
			[]string{"name", "F Pepper", "sex", "female"},
			"is in the book already",
		},
		{
			"a name with another id", "/entries/new?kind=animal",
			[]string{"name", "Pepper", "sex", "male", "animal", "m-pepper"},
			"",
		},
		{
			"a second box of one name", "/entries/new?kind=place",
			[]string{"name", "Box 3", "place_kind", "box"},
			"is in the book already",
		},
		{
			"a name emptied", "/entries/new?kind=animal&animal=f-pepper",
			[]string{"name", "", "hatched", "2024"},
			"The name stays “Pepper”",
		},
	} {
		atNoon(t, func(t *testing.T) {
			s := open(t)
			form := formOn(t, s.ask("GET", c.address, "").Body.String(), `class="entry`)
			for i := 0; i+1 < len(c.fill); i += 2 {
				form.Set(c.fill[i], c.fill[i+1])
			}
			w := s.ask("POST", "/entries", form.Encode())
			if c.asks == "" {
				if w.Code != http.StatusSeeOther {
					t.Errorf("%s: answer %d\n%s", c.sentence, w.Code, errorsIn(w.Body.String()))
				}
				return
			}
			if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), c.asks) {
				t.Fatalf("%s: answer %d, and the page does not ask %q\n%s", c.sentence, w.Code, c.asks, errorsIn(w.Body.String()))
			}
			again := formOn(t, w.Body.String(), `class="entry`)
			for name := range form { // formOn does not read lists
				if !again.Has(name) {
					again.Set(name, form.Get(name))
				}
			}
			if w := s.ask("POST", "/entries", again.Encode()); w.Code != http.StatusSeeOther {
				t.Errorf("%s: sent again it answers %d\n%s", c.sentence, w.Code, errorsIn(w.Body.String()))
			}
		})
	}
}

// A correction whose entry was taken back elsewhere meanwhile is refused: it
// would come into the book as a second entry.
func TestACorrectionOfWhatIsGoneIsRefused(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.tell(t, -1, book.KindWeighed, book.WeighedData{Animal: "f-pepper", Grams: 45})
		seq := s.snap.Book.LastSeq
		form := formOn(t, s.ask("GET", "/entries/new?replaces="+fmt.Sprint(seq), "").Body.String(), `class="entry`)
		form.Set("grams", "54")
		s.tell(t, -0.5, book.KindVoid, book.VoidData{Entry: seq})
		s.door.state = s.snap.Book
		w := s.ask("POST", "/entries", form.Encode())
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "taken back or corrected already") {
			t.Errorf("answer %d, made %d\n%s", w.Code, len(s.door.made), errorsIn(w.Body.String()))
		}
	})
}

// A clutch is called after its own dam where the book does so, never after
// another.
func TestAClutchIsNotCalledAfterAnotherDam(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		name := func(female string) string {
			return formOn(t, s.ask("GET", "/entries/new?kind=laying&female="+female, "").Body.String(), `class="entry`).Get("clutch")
		}
		if got := name("f-pepper"); got != "k5" {
			t.Errorf("the clutches are k1 to k4; the next is proposed as %q", got)
		}
		s.tell(t, -1, book.KindLaying, book.LayingData{
			Clutch: "f-pepper-7", Female: "f-pepper", From: days(-1.5), To: days(-1),
			Eggs: []book.EggName{{Egg: "f-pepper-7-a", Mark: "A"}},
		})
		for female, want := range map[string]string{"f-pepper": "f-pepper-8", "f-saffron": "f-saffron-1", "": "k5"} {
			if got := name(female); got != want {
				t.Errorf("the next clutch of %q is proposed as %q, want %q", female, got, want)
			}
		}
	})
}

// After a laying, the round has nothing to repeat: white eggs are laid.
func TestTheRoundRepeatsNothingFromBeforeALaying(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.tell(t, -3, book.KindChecked, book.CheckedData{Animal: "f-pepper", Stage: incubation.Gravid})
		if page := s.ask("GET", "/round?day=2026-06-14&at=f-pepper", "").Body.String(); strings.Contains(page, "Same as last time") {
			t.Error("Pepper laid two days ago, and the round offers what was seen before")
		}
		s.tell(t, -1, book.KindChecked, book.CheckedData{Animal: "f-pepper", Stage: incubation.Quiet})
		if page := s.ask("GET", "/round?day=2026-06-14&at=f-pepper", "").Body.String(); !strings.Contains(page, "Same as last time") {
			t.Error("a look after the laying is not offered")
		}
	})
}
