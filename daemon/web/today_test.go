package web_test

import (
	"encoding/json"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// morning is a herd of which each line of the list is known beforehand: a
// vet's matter, a belly that is late, a box to air, eggs to candle.
func morning(t testing.TB) []book.Entry {
	t.Helper()
	var out []book.Entry
	write := func(ago float64, kind book.Kind, data any) { out = append(out, newEntry(t, days(-ago), kind, data)) }
	for _, a := range []book.AnimalData{
		{Animal: "fern", Name: "Fern", Sex: incubation.Female, Hatched: "2022-05"},
		{Animal: "moth", Name: "Moth", Sex: incubation.Female, Hatched: "2022-06"},
		{Animal: "flint", Name: "Flint", Sex: incubation.Male, Hatched: "2021"},
	} {
		write(100, book.KindAnimal, a)
	}
	write(100, book.KindPlace, book.PlaceData{Place: "oak", Kind: incubation.Incubator, Name: "Oak cabinet"})
	write(100, book.KindPlace, book.PlaceData{Place: "box-1", Kind: incubation.Box, Name: "Box 1"})
	write(99, book.KindStand, book.StandData{Place: "box-1", In: "oak"})
	write(3, book.KindChecked, book.CheckedData{Animal: "fern", Stage: incubation.Gravid, Signs: []incubation.Sign{incubation.Straining}})
	write(11, book.KindChecked, book.CheckedData{Animal: "moth", Stage: incubation.Follicular, Size: incubation.Large, Sides: incubation.BothSide})
	write(40, book.KindPaired, book.PairedData{Female: "moth", Male: "flint", Outcome: incubation.Accepted})
	write(12, book.KindLaying, book.LayingData{
		Clutch: "c1", Female: "moth", From: days(-12.5), To: days(-12),
		Eggs: []book.EggName{{Egg: "c1-a", Mark: "A"}, {Egg: "c1-b", Mark: "B"}},
	})
	write(12, book.KindEgg, book.EggData{Egg: "c1-a", Box: "box-1"})
	write(12, book.KindEgg, book.EggData{Egg: "c1-b", Box: "box-1"})
	return out
}

var dueLink = regexp.MustCompile(`(?s)<li class="due"><a href="([^"]*)"><span class="name">([^<]*)`)

// dueOn gives the lines of a page with the address each leads to.
func dueOn(page string) map[string]string {
	out := map[string]string{}
	for _, m := range dueLink.FindAllStringSubmatch(page, -1) {
		out[html.UnescapeString(m[2])] = html.UnescapeString(m[1])
	}
	return out
}

func TestTodayLeadsToTheFormThatDoesIt(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, _ := withBook(t, morning(t))
		page := s.ask("GET", "/today", "").Body.String()
		vet, rest := strings.Index(page, `data-state="danger"><h2`), strings.Index(page, `class="due"`)
		if vet < 0 || rest < vet || !strings.Contains(page[vet:rest], "Fern") {
			t.Errorf("the vet's matter does not stand first: %d, %d", vet, rest)
		}
		lines := dueOn(page)
		for _, c := range []struct{ begins, kind, param string }{
			{"Look at Moth's belly", "checked", "animal=moth"},
			{"Candle Moth A and B", "candle", "egg=c1-a"},
			{"Air Box 1", "looked", "box=box-1"},
		} {
			found := ""
			for line, href := range lines {
				if strings.HasPrefix(line, c.begins) {
					found = href
				}
			}
			if !strings.Contains(found, "kind="+c.kind) || !strings.Contains(found, c.param) || !strings.Contains(found, "back=%2Ftoday") {
				t.Errorf("%s leads to %q; there are %v", c.begins, found, lines)
			}
			if found != "" && s.ask("GET", found, "").Code != http.StatusOK {
				t.Errorf("%s does not open", found)
			}
		}
	})
}

func TestWhatIsDoneIsNoLongerDue(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, morning(t))
		before := dueOn(s.ask("GET", "/today", "").Body.String())
		if _, due := before["Look at Moth's belly"]; !due {
			t.Fatalf("Moth is not due: %v", before)
		}
		p := (&phone{t: t, s: s}).open("/round?day=2026-06-14&at=moth")
		if !strings.Contains(p.page, "11 days ago") {
			t.Error("the round does not say since when")
		}
		p.tap("stage", "quiet")
		k.write(noon, newEntry(t, noon, book.KindLooked, book.LookedData{Box: "box-1", Aired: true}))
		after := dueOn(s.ask("GET", "/today", "").Body.String())
		for _, gone := range []string{"Look at Moth's belly", "Air Box 1"} {
			if _, due := after[gone]; due {
				t.Errorf("%s is still due: %v", gone, after)
			}
		}
		if len(after) == 0 {
			t.Error("all of it is gone, the candling too")
		}
	})
}

func TestADayWithoutAnythingSaysWhatComes(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		for _, c := range []struct {
			sentence string
			entries  []book.Entry
			says     []string
		}{
			{"an empty book says how to begin", nil, []string{"the book has no animals and no eggs", "/entries/new?kind="}},
			{"a female that is not in her season is looked at when it may begin", []book.Entry{
				newEntry(t, days(-300), book.KindAnimal, book.AnimalData{Animal: "fern", Name: "Fern", Sex: incubation.Female, Hatched: "2020"}),
				newEntry(t, days(-1), book.KindChecked, book.CheckedData{Animal: "fern", Stage: incubation.Quiet}),
			}, []string{"Nothing is due today.", "Nothing this week either. Next: ", "Fern"}},
		} {
			s, _ := withBook(t, c.entries)
			page := s.ask("GET", "/today", "").Body.String()
			for _, want := range c.says {
				if !strings.Contains(page, want) {
					t.Errorf("%s: it does not say %q: %s", c.sentence, want, page[strings.Index(page, "<h1"):])
				}
			}
		}
	})
}

func TestRoomShowsTheFirstOfWhatIsDue(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, _ := withBook(t, threeYears(t, 12))
		page := s.ask("GET", "/", "").Body.String()
		if n := len(dueOn(page)); n == 0 || n > 3 || !regexp.MustCompile(`href="/today">All of it: \d+ more`).MatchString(page) {
			t.Errorf("the room shows %d lines of what is due", n)
		}
		all, short := s.ask("GET", "/today?all=1", "").Body.String(), s.ask("GET", "/today", "").Body.String()
		if len(dueLink.FindAllString(all, -1)) < len(dueLink.FindAllString(short, -1)) {
			t.Error("all of it is less than the first of it")
		}
	})
}

func TestDueOverTheAPI(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, _ := withBook(t, morning(t))
		var got []struct {
			Kind, Urgency, Do, Why string
			From, By               time.Time
			Animals, Eggs          []string
		}
		if err := json.Unmarshal(s.ask("GET", "/api/due", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if len(got) < 4 || got[0].Kind != "vet" || got[0].Urgency != "now" || got[0].Animals[0] != "fern" || got[0].Why == "" {
			t.Errorf("due: %+v", got)
		}
		for _, i := range got {
			if i.From.IsZero() || i.By.Before(i.From) || i.Do == "" || i.Animals == nil || i.Eggs == nil {
				t.Errorf("an incomplete line: %+v", i)
			}
		}
	})
}

// Whoever may only look is told what is due, and led to whom it is about.
func TestGuestsAreToldWhatIsDue(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t, locked)
		page := guest(t, s, "room").ask("GET", "/today", "").Body.String()
		lines := dueOn(page)
		if len(lines) == 0 {
			t.Fatal("nothing is told")
		}
		for line, href := range lines {
			if strings.HasPrefix(href, "/entries") {
				t.Errorf("%s leads to %s", line, href)
			}
		}
	})
}
