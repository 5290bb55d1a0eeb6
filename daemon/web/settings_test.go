package web_test

import (
	"net/http"
	"strings"
	"testing"

	"clutchd/incubation/book"
)

func TestDatesAsTheVisitorWritesThem(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, c := range []struct{ sentence, style, clutch, history string }{
			{"words unless something else was chosen", "", "1–11 Jul)", "Sunday 14 June"},
			{"words", "words", "1–11 Jul)", "Sunday 14 June"},
			{"by size, which is never without its year", "iso", "2026-07-01 – 2026-07-11)", "Sunday 2026-06-14"},
			{"with dots", "dots", "1.–11.7.)", "Sunday 14.6."},
			{"the month first", "slashes", "7/1 – 7/11)", "Sunday 6/14"},
			{"what is no style is none", "<i>", "1–11 Jul)", "Sunday 14 June"},
		} {
			cookie := "clutchd_dates=" + c.style
			page := s.ask("GET", "/clutches/k3", "", "Cookie", cookie).Body.String()
			if !strings.Contains(page, c.clutch) {
				t.Errorf("%s: the hatch window is not told as %q", c.sentence, c.clutch)
			}
			if page := s.ask("GET", "/today", "", "Cookie", cookie).Body.String(); !strings.Contains(page, c.history) {
				t.Errorf("%s: today is not %q", c.sentence, c.history)
			}
		}
	})
}

func TestSettingsAreKeptByTheBrowser(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		w := s.ask("POST", "/settings", "units=F&dates=dots")
		kept := map[string]string{}
		for _, c := range w.Result().Cookies() {
			kept[c.Name] = c.Value
			if !c.HttpOnly || c.MaxAge < 300*24*3600 || c.SameSite != http.SameSiteLaxMode {
				t.Errorf("cookie %+v", c)
			}
		}
		if w.Code != http.StatusSeeOther || kept["clutchd_units"] != "F" || kept["clutchd_dates"] != "dots" {
			t.Errorf("answer %d, kept %v", w.Code, kept)
		}
		page := s.ask("GET", "/settings", "", "Cookie", "clutchd_units=F; clutchd_dates=dots").Body.String()
		for _, want := range []string{`value="F" checked`, `value="dots" checked`, ">14.3.2026<", ">3/14/2026<", ">2026-03-14<", ">14 Mar 2026<"} {
			if !strings.Contains(page, want) {
				t.Errorf("the settings do not show %q", want)
			}
		}
		if w := s.ask("POST", "/settings", "units=K&dates=roman"); len(w.Result().Cookies()) != 0 {
			t.Error("what nobody offered was kept")
		}
	})
}

func TestGatesAndSeasonAreWrittenDown(t *testing.T) {
	for _, c := range []struct {
		sentence string
		kind     book.Kind
		form     []string
		data     string
	}{
		{"gates, some of them", book.KindGates, []string{"min_grams", "48,5", "max_loss_ratio", "12", "max_clutches", "5"}, `{"min_grams":48.5,"max_loss_ratio":0.12,"max_clutches":5}`},
		{"a gate that is shut off is 0, not nothing", book.KindGates, []string{"rest_days", "0"}, `{"rest_days":0}`},
		{"all of them given back", book.KindGates, nil, `{}`},
		{"a southern room with a daily message", book.KindSeason, []string{"half", "south", "daily", "07:30"}, `{"southern":true,"daily":"07:30"}`},
		{"neither", book.KindSeason, []string{"half", "north", "daily", ""}, `{}`},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask("POST", "/entries", fill(append([]string{"kind", string(c.kind)}, c.form...)...).Encode())
				if w.Code != http.StatusSeeOther || len(s.door.made) != 1 {
					t.Fatalf("answer %d\n%s", w.Code, errorsIn(w.Body.String()))
				}
				if got := string(s.door.made[0].Entry.Data); got != c.data {
					t.Errorf("data %s, want %s", got, c.data)
				}
			})
		})
	}
}

// What is in force stands in the form and in the settings.
func TestGatesFormGivesBackWhatItShows(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Book.Gates = &book.GatesData{MinMonths: ptr(14.0), MaxLossRatio: ptr(0.12), MaxClutches: ptr(0)}
		page := s.ask("GET", "/entries/new?kind=gates", "").Body.String()
		for _, want := range []string{`name="min_months" type="text" value="14"`, `name="max_loss_ratio" type="text" value="12"`, `name="max_clutches" type="text" value="0"`, `name="min_grams" type="text" value=""`} {
			if !strings.Contains(page, want) {
				t.Errorf("the form does not show %s", want)
			}
		}
		settings := s.ask("GET", "/settings", "").Body.String()
		for _, want := range []string{"<dd>12\u00a0%</dd>", "<dd>14\u00a0months</dd>", "<dd>45\u00a0g, starting value</dd>"} {
			if !strings.Contains(settings, want) {
				t.Errorf("the settings do not tell %s", want)
			}
		}
	})
}

func TestRackAndSlotOfAnEnclosure(t *testing.T) {
	for _, c := range []struct {
		sentence string
		form     []string
		data     string // "": refused
	}{
		{"an enclosure in a rack", []string{"name", "Tub 9", "place_kind", "enclosure", "rack", "A", "slot", "9"}, `{"place":"tub-9","kind":"enclosure","name":"Tub 9","rack":"A","slot":9}`},
		{"the only rack needs no name", []string{"name", "Tub 9", "place_kind", "enclosure", "slot", "9"}, `{"place":"tub-9","kind":"enclosure","name":"Tub 9","slot":9}`},
		{"a rack without a slot says nothing", []string{"name", "Tub 9", "place_kind", "enclosure", "rack", "A"}, ""},
		{"half a slot is none", []string{"name", "Tub 9", "place_kind", "enclosure", "slot", "1.5"}, ""},
		{"a box stands in no rack", []string{"name", "Tub 9", "place_kind", "box", "slot", "1"}, ""},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask("POST", "/entries", fill(append([]string{"kind", "place"}, c.form...)...).Encode())
				if c.data == "" {
					if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), `class="error"`) {
						t.Errorf("answer %d", w.Code)
					}
					return
				}
				if w.Code != http.StatusSeeOther || string(s.door.made[0].Entry.Data) != c.data {
					t.Errorf("answer %d, %v", w.Code, s.door.made)
				}
			})
		})
	}
}
