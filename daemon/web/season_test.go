package web_test

import (
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
	"testing"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// pairOf writes a pairing and one clutch of n eggs, of which so many hatched
// and so many were clear.
func pairOf(t testing.TB, female, male string, n, hatched, clear int) []book.Entry {
	t.Helper()
	out := []book.Entry{
		newEntry(t, days(-300), book.KindAnimal, book.AnimalData{Animal: female, Name: strings.ToUpper(female), Sex: incubation.Female, Hatched: "2021"}),
		newEntry(t, days(-300), book.KindAnimal, book.AnimalData{Animal: male, Name: strings.ToUpper(male), Sex: incubation.Male, Hatched: "2021"}),
		newEntry(t, days(-120), book.KindPaired, book.PairedData{Female: female, Male: male, Outcome: incubation.Accepted}),
	}
	for i := range n {
		c := fmt.Sprintf("%s-%d", female, i)
		egg := c + "-a"
		laid := days(-100 + 0.1*float64(i))
		out = append(out, newEntry(t, laid, book.KindLaying, book.LayingData{
			Clutch: c, Female: female, From: laid, To: laid, Eggs: []book.EggName{{Egg: egg, Mark: "A"}},
		}))
		switch {
		case i < hatched:
			out = append(out, newEntry(t, days(-40), book.KindHatch, book.HatchData{Egg: egg}))
		case i < hatched+clear:
			out = append(out, newEntry(t, days(-60), book.KindFail, book.FailData{Egg: egg, Cause: "clear"}))
		}
	}
	return out
}

func TestSharesAreToldFromFiveEggsOn(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		for _, c := range []struct {
			sentence          string
			n, hatched, clear int
			says              []string
			not               string
		}{
			{"four eggs: a count, no share", 4, 3, 1, []string{"lived 3 of 4 ·", "hatched 3 of 4 ·", "lost 1: 1 clear"}, "75\u00a0%"},
			{"five eggs: a share", 5, 4, 1, []string{"lived 4 of 5, 80\u00a0%", "hatched 4 of 5, 80\u00a0%"}, "none"},
			{"eggs that still lie there are in no share", 7, 4, 1, []string{"7 eggs", "hatched 4 of 5, 80\u00a0%"}, "of 7"},
			{"nothing has ended yet", 2, 0, 0, []string{"lived – · hatched – · lost none"}, "%"},
		} {
			s, _ := withBook(t, pairOf(t, "fern", "flint", c.n, c.hatched, c.clear))
			page := s.ask("GET", "/season", "").Body.String()
			_, part, _ := strings.Cut(page, ">By pairing<")
			part, _, _ = strings.Cut(part, ">By male<")
			for _, want := range append(c.says, "FERN × FLINT") {
				if !strings.Contains(part, want) {
					t.Errorf("%s: it does not say %q:\n%s", c.sentence, want, part)
				}
			}
			if strings.Contains(part, c.not) {
				t.Errorf("%s: it says %q", c.sentence, c.not)
			}
		}
	})
}

func TestSeasonAheadIsDrawnAndTabled(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, _ := withBook(t, threeYears(t, 12))
		page := s.ask("GET", "/season", "").Body.String()
		var api struct {
			Weeks []struct {
				Boxes, Layings struct{ Low, Middle, High float64 }
			}
			Capacity int
			Past     []struct{ Season string }
		}
		if err := json.Unmarshal(s.ask("GET", "/api/season", "").Body.Bytes(), &api); err != nil {
			t.Fatal(err)
		}
		rows := strings.Count(page[strings.Index(page, "Each week in numbers"):strings.Index(page, "Seasons side by side")], `<th scope="row">`)
		bars := strings.Count(page, `<rect class="band"`)
		if rows < 8 || bars != 2*rows || len(api.Weeks) < rows || api.Capacity != 6 {
			t.Errorf("%d rows, %d bars, %d weeks, room for %d", rows, bars, len(api.Weeks), api.Capacity)
		}
		for _, w := range api.Weeks {
			if w.Boxes.Low > w.Boxes.Middle || w.Boxes.Middle > w.Boxes.High {
				t.Errorf("a band that does not hold its middle: %+v", w)
			}
		}
		if len(api.Past) != 3 || !regexp.MustCompile(`(?s)<th scope="col">2024</th><th scope="col">2025</th><th scope="col">2026</th>`).MatchString(page) {
			t.Errorf("past seasons: %+v", api.Past)
		}
		if !strings.Contains(page, "8 of 10 of the futures") || !strings.Contains(page, "common practice") {
			t.Error("it does not say what the numbers rest on")
		}
	})
}

func TestShelvesFromWarmToCool(t *testing.T) {
	for _, c := range []struct {
		sentence, path string
		change         func(*monitor.Snapshot)
		says           []string
		not            string
	}{
		{"what each makes of the setpoint, the warmest first", "/places/oak", nil, []string{"Box 1, top", "really 32.1", "+0.6 against", "Box 2, bottom", "really 31.1", "−0.4 against"}, "suits it"},
		{"the box for a target", "/places/oak?target=32", nil, []string{`<li class="here"><a href="/places/box-1">`, "32.0\u00a0°C: Box 1, top suits it, really 32.1."}, ""},
		{"none at this setpoint: what the dial would be, and that it moves all", "/places/oak?target=28", nil, []string{"no box at this setpoint. Box 2, bottom comes nearest, really 31.1; it would be right with the dial at 28.4, and every other box with it −3.1."}, "suits it"},
		{"what is no temperature", "/places/oak?target=warm", nil, []string{"is not a number", `aria-invalid="true"`}, ""},
		{"what eggs are planned for", "/places/oak", nil, []string{"Planned for Juniper A: 28.0\u00a0°C: no box"}, ""},
		{"a box that was not measured for long", "/places/oak", func(s *monitor.Snapshot) { placeIn(s, "box-2").Offset = nil }, []string{"Not measured for long enough: Box 2, bottom."}, "−0.4"},
		{"nothing learned yet, no map", "/places/oak", func(s *monitor.Snapshot) { placeIn(s, "box-2").Offset, placeIn(s, "box-1").Offset = nil, nil }, nil, "warm to cool"},
		{"no setpoint: only the differences", "/places/oak", func(s *monitor.Snapshot) { placeIn(s, "oak").Setpoint = nil }, []string{"No setpoint is written down", "+0.6"}, "really"},
		{"a box has no shelves", "/places/box-1", nil, nil, "warm to cool"},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				if c.change != nil {
					c.change(s.snap)
				}
				page := html.UnescapeString(s.ask("GET", c.path, "").Body.String())
				for _, want := range c.says {
					at := strings.Index(page, want)
					if at < 0 {
						t.Errorf("it does not say %q", want)
					}
				}
				if c.not != "" && strings.Contains(page, c.not) {
					t.Errorf("it says %q", c.not)
				}
			})
		})
	}
}

func placeIn(s *monitor.Snapshot, id string) *monitor.PlaceNow {
	for i := range s.Places {
		if s.Places[i].ID == id {
			return &s.Places[i]
		}
	}
	return nil
}
