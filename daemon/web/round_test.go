package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

var (
	heading = regexp.MustCompile(`(?s)<h1[^>]*>(.*?)</h1>`)
	tags    = regexp.MustCompile(`<[^>]*>`)
	hidden  = regexp.MustCompile(`<input type="hidden" name="([a-z]+)" value="([^"]*)">`)
)

// headOf is a page's heading in plain text.
func headOf(page string) string {
	m := heading.FindStringSubmatch(page)
	if m == nil {
		return ""
	}
	return strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(m[1], ""))), " ")
}

// formTo gives the hidden answers of the first form on a page that posts to an
// address.
func formTo(t *testing.T, page, action string) url.Values {
	t.Helper()
	_, rest, ok := strings.Cut(page, `action="`+action+`"`)
	if !ok {
		t.Fatalf("the page %q has no form to %s", headOf(page), action)
	}
	rest, _, _ = strings.Cut(rest, "</form>")
	v := url.Values{}
	for _, m := range hidden.FindAllStringSubmatch(rest, -1) {
		v.Add(m[1], html.UnescapeString(m[2]))
	}
	return v
}

// A phone walks the round: it holds the page that it shows.
type phone struct {
	t    *testing.T
	s    *site
	at   string // address of the page it shows
	page string
}

func (p *phone) open(path string) *phone {
	p.t.Helper()
	w := p.s.ask("GET", path, "")
	if w.Code != http.StatusOK {
		p.t.Fatalf("%s answers %d", path, w.Code)
	}
	p.at, p.page = path, w.Body.String()
	return p
}

// tap presses a button of the check's form and follows where it leads.
func (p *phone) tap(name, value string, more ...string) int {
	p.t.Helper()
	form := formTo(p.t, p.page, "/round")
	form.Set(name, value)
	for i := 0; i+1 < len(more); i += 2 {
		form.Add(more[i], more[i+1])
	}
	w := p.s.ask("POST", "/round", form.Encode())
	if w.Code == http.StatusSeeOther {
		p.open(w.Header().Get("Location"))
		return w.Code
	}
	p.page = w.Body.String()
	return w.Code
}

func (p *phone) undo() {
	p.t.Helper()
	w := p.s.ask("POST", "/entries", formTo(p.t, p.page, "/entries").Encode())
	if w.Code != http.StatusSeeOther {
		p.t.Fatalf("undo answers %d", w.Code)
	}
	p.open(w.Header().Get("Location"))
}

// lastCheck is the newest line of the book, as a check.
func lastCheck(t *testing.T, k *kept) book.CheckedData {
	t.Helper()
	var d book.CheckedData
	if err := json.Unmarshal(k.entries[len(k.entries)-1].Data, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestRoundGoesByRackAndSlot(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		entries := females(t, 9)
		for _, p := range []book.PlaceData{
			{Place: "home-1", Rack: "Rack 10", Slot: 1},
			{Place: "home-3", Rack: "Rack 2", Slot: 10},
			{Place: "home-5", Rack: "Rack 2", Slot: 9},
		} {
			entries = append(entries, newEntry(t, days(-10), book.KindPlace, p))
		}
		entries = append(entries, newEntry(t, days(-9), book.KindRetired, book.RetiredData{Animal: "f-9", Why: incubation.Resting}))
		s, _ := withBook(t, entries)
		p := &phone{t: t, s: s}
		p.open("/round?day=2026-06-14")
		var order []string
		for len(order) < 20 && strings.Contains(p.page, `action="/round"`) {
			order = append(order, headOf(p.page))
			p.tap("stage", "quiet")
		}
		want := []string{
			"Gecko 2 rack B · slot 1", "Gecko 4 rack B · slot 2", "Gecko 6 rack B · slot 3", "Gecko 8 rack B · slot 4",
			"Gecko 5 Rack 2 · slot 9", "Gecko 3 Rack 2 · slot 10", "Gecko 1 Rack 10 · slot 1", "Gecko 7",
		}
		if diff := cmp.Diff(want, order); diff != "" {
			t.Errorf("order of the round (-want +got):\n%s", diff)
		}
		if got := headOf(p.page); got != "Round done" || !strings.Contains(p.page, "8 of 8 looked at.") {
			t.Errorf("the round ends with %q", got)
		}
	})
}

func TestRoundWritesWhatWasTapped(t *testing.T) {
	for _, c := range []struct {
		sentence string
		taps     []string
		want     book.CheckedData
	}{
		{"one tap is a stage", []string{"stage", "gravid"}, book.CheckedData{Stage: incubation.Gravid}},
		{"one tap is a stage with its size", []string{"stage", "follicular/large"}, book.CheckedData{Stage: incubation.Follicular, Size: incubation.Large}},
		{"the same as last time repeats stage, size and sides", []string{"stage", "same"}, book.CheckedData{
			Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.OneSide,
		}},
		{"the same, but on both sides now", []string{"stage", "same", "sides", "both"}, book.CheckedData{
			Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.BothSide,
		}},
		{"signs and a note come along", []string{"stage", "gravid", "sign-straining", "yes", "sign-weak", "yes", "note", "digs all night"}, book.CheckedData{
			Stage: incubation.Gravid, Signs: []incubation.Sign{incubation.Weak, incubation.Straining}, Note: "digs all night",
		}},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s, k := withBook(t, females(t, 4))
				p := (&phone{t: t, s: s}).open("/round?day=2026-06-14&at=f-2")
				before := len(k.entries)
				if code := p.tap(c.taps[0], c.taps[1], c.taps[2:]...); code != http.StatusSeeOther || len(k.entries) != before+1 {
					t.Fatalf("answer %d, %d entries more", code, len(k.entries)-before)
				}
				c.want.Animal = "f-2"
				if diff := cmp.Diff(c.want, lastCheck(t, k)); diff != "" {
					t.Errorf("check (-want +got):\n%s", diff)
				}
				if e := k.entries[before]; e.Zone != "Europe/Berlin" || e.By != "page" || !e.At.Equal(noon) {
					t.Errorf("entry %+v", e)
				}
			})
		})
	}
}

// What cannot be repeated is not offered: eggs are laid once.
func TestRoundOffersTheSameOnlyWhereItCanBe(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 5))
		for i, want := range []bool{true, true, true, true, false} {
			page := (&phone{t: t, s: s}).open(fmt.Sprintf("/round?day=2026-06-14&at=f-%d", i+1)).page
			if got := strings.Contains(page, `value="same"`); got != want {
				t.Errorf("female %d: same as last time offered: %v", i+1, got)
			}
		}
		p := (&phone{t: t, s: s}).open("/round?day=2026-06-14&at=f-5")
		before := len(k.entries)
		if p.tap("stage", "same"); len(k.entries) != before || !strings.Contains(p.page, "Not written: there is nothing to repeat.") {
			t.Error("a laying was repeated")
		}
		if p.tap("note", "fine"); len(k.entries) != before || !strings.Contains(p.page, "Not written: say what you saw.") {
			t.Error("a check without a stage was written")
		}
	})
}

func TestRoundOfTwoPhones(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 6))
		start := (&phone{t: t, s: s}).open("/round")
		at := regexp.MustCompile(`href="(/round\?day=[^"]*)"`).FindAllStringSubmatch(start.page, -1)
		one := (&phone{t: t, s: s}).open(html.UnescapeString(at[0][1]))
		two := (&phone{t: t, s: s}).open(html.UnescapeString(at[0][1]))
		other := (&phone{t: t, s: s}).open("/round?day=2026-06-14&from=end")
		if headOf(one.page) != "Gecko 1 rack A · slot 1" || headOf(other.page) != "Gecko 6 rack B · slot 3" {
			t.Fatalf("they begin with %q and %q", headOf(one.page), headOf(other.page))
		}
		before := len(k.entries)
		one.tap("stage", "quiet")
		if code := two.tap("stage", "gravid"); code != http.StatusConflict || len(k.entries) != before+1 {
			t.Errorf("the second phone's answer about her: %d, %d entries", code, len(k.entries)-before)
		}
		for _, says := range []string{"Gecko 1 was looked at meanwhile", "Quiet · today 12:32", "not written: <b>gravid</b>"} {
			if !strings.Contains(two.page, says) {
				t.Errorf("the second phone does not say %q", says)
			}
		}
		mine := *two
		if code := mine.tap("stage", "gravid"); code != http.StatusSeeOther || len(k.entries) != before+2 {
			t.Errorf("writing it all the same: %d, %d entries", code, len(k.entries)-before)
		}
		two.open(two.at)
		if headOf(two.page) != headOf(one.page) || headOf(one.page) != "Gecko 3 rack A · slot 2" {
			t.Errorf("after a reload they stand at %q and %q", headOf(one.page), headOf(two.page))
		}
		for range 5 {
			other.tap("stage", "unsure")
		}
		if one.open(one.at); headOf(other.page) != "Round done" || !strings.Contains(one.page, "Round done") {
			t.Errorf("they end with %q and %q", headOf(other.page), headOf(one.page))
		}
	})
}

func TestRoundDoubleTapEntersOnce(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 3))
		p := (&phone{t: t, s: s}).open("/round?day=2026-06-14")
		form := formTo(t, p.page, "/round")
		form.Set("stage", "quiet")
		before := len(k.entries)
		first, second := s.ask("POST", "/round", form.Encode()), s.ask("POST", "/round", form.Encode())
		if first.Code != http.StatusSeeOther || second.Code != http.StatusSeeOther ||
			first.Header().Get("Location") != second.Header().Get("Location") || len(k.entries) != before+1 {
			t.Errorf("two taps: %d to %s, %d to %s, %d entries", first.Code, first.Header().Get("Location"),
				second.Code, second.Header().Get("Location"), len(k.entries)-before)
		}
	})
}

func TestRoundUndoSkipAndReload(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 3))
		p := (&phone{t: t, s: s}).open("/round?day=2026-06-14")
		p.tap("stage", "gravid")
		if !strings.Contains(p.page, "Gecko 1: gravid. <span") || !strings.Contains(p.page, "1 of 3") {
			t.Error("what was written just before is not said")
		}
		p.undo()
		if headOf(p.page) != "Gecko 1 rack A · slot 1" || !strings.Contains(p.page, "Quiet · 2 days ago, 12 Jun") {
			t.Errorf("after the undo %q stands there", headOf(p.page))
		}
		if last := k.entries[len(k.entries)-1]; last.Kind != book.KindVoid {
			t.Errorf("the undo wrote %s", last.Kind)
		}
		skip := regexp.MustCompile(`href="([^"]*)">Skip her`).FindStringSubmatch(p.page)
		p.open(html.UnescapeString(skip[1]))
		if headOf(p.page) != "Gecko 3 rack A · slot 2" {
			t.Errorf("after skipping her %q stands there", headOf(p.page))
		}
		p.tap("stage", "quiet")
		p.tap("stage", "laid")
		if headOf(p.page) != "All but 1 looked at" || !strings.Contains(p.page, "Gecko 1") || !strings.Contains(p.page, "/entries/new?kind=laying&amp;female=f-2") {
			t.Errorf("at the end it says %q", headOf(p.page))
		}
	})
}

// A round that goes past midnight is one round; one of last week is not.
func TestRoundPastMidnight(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 3))
		p := (&phone{t: t, s: s}).open("/round?day=2026-06-14")
		p.tap("stage", "quiet")
		next := *k.snap
		next.Time = time.Date(2026, 6, 14, 22, 10, 0, 0, time.UTC) // ten past midnight in the room
		k.snap = &next
		if p.open(p.at); headOf(p.page) != "Gecko 3 rack A · slot 2" || !strings.Contains(p.page, "1 of 3") {
			t.Errorf("past midnight %q stands there", headOf(p.page))
		}
		for _, day := range []string{"2026-06-01", "2027-01-01", "yesterday"} {
			if p.open("/round?day=" + day); !strings.Contains(p.page, "0 of 3") {
				t.Errorf("a round of %s counts what was seen before today", day)
			}
		}
	})
}

func TestSlotOpensItsAnimal(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		entries := females(t, 5)
		for _, p := range []book.PlaceData{
			{Place: "empty", Kind: incubation.Enclosure, Name: "Empty tub", Rack: "A", Slot: 40},
			{Place: "shelf", Kind: incubation.Incubator, Name: "Cabinet"},
		} {
			entries = append(entries, newEntry(t, days(-50), book.KindPlace, p))
		}
		entries = append(entries,
			newEntry(t, days(-49), book.KindHoused, book.HousedData{Animal: "f-4", Enclosure: "home-2"}),
			newEntry(t, days(-48), book.KindAnimal, book.AnimalData{Animal: "flint", Name: "Flint", Sex: incubation.Male}),
			newEntry(t, days(-47), book.KindHoused, book.HousedData{Animal: "flint", Enclosure: "home-4"}),
			newEntry(t, days(-46), book.KindAnimal, book.AnimalData{Animal: "moss", Name: "Moss"}))
		s, _ := withBook(t, entries)
		for _, c := range []struct{ sentence, slot, to, says string }{
			{"one female: her page", "home-1", "/females/f-1", ""},
			{"a male: his", "home-4", "/animals/flint", ""},
			{"two: a choice", "home-2", "", "2 animals live here. Which one?"},
			{"none: an offer, with those that have no home", "empty", "", "/entries/new?kind=housed&amp;animal=moss&amp;enclosure=empty"},
			{"no enclosure: the place itself", "shelf", "/places/shelf", ""},
		} {
			w := s.ask("GET", "/slots/"+c.slot, "")
			if got := w.Header().Get("Location"); got != c.to || c.to == "" && (w.Code != http.StatusOK || !strings.Contains(w.Body.String(), c.says)) {
				t.Errorf("%s: answer %d to %q\n%s", c.sentence, w.Code, got, headOf(w.Body.String()))
			}
		}
		if w := s.ask("GET", "/slots/nowhere", ""); w.Code != http.StatusNotFound {
			t.Errorf("a slot that is not there answers %d", w.Code)
		}
	})
}

// Under three taps each: one for most, and every tap that can be needed is on
// the one page.
func TestRoundOfTwentyInUnderThreeTapsEach(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, females(t, 20))
		p := (&phone{t: t, s: s}).open("/round")
		go1 := regexp.MustCompile(`href="([^"]*)">Start<`).FindStringSubmatch(p.page)
		p.open(html.UnescapeString(go1[1]))
		taps := 1
		for strings.Contains(p.page, `action="/round"`) {
			p.tap("stage", "follicular/small", "sides", "both") // sides, then the stage
			taps += 2
		}
		checks := slices.DeleteFunc(slices.Clone(k.entries), func(e book.Entry) bool { return e.Kind != book.KindChecked || !e.At.Equal(noon) })
		if len(checks) != 20 || taps > 3*20 {
			t.Errorf("%d checks in %d taps", len(checks), taps)
		}
	})
}
