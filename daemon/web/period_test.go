package web_test

import (
	"encoding/json"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// limited has the enclosure of the test's room be limited the year round.
func limited(s *site, p book.Period) {
	s.snap.Book.Limits["pepper"] = book.LimitsData{
		Place: "pepper", LowCelsius: ptr(incubation.Celsius(24)), HighCelsius: ptr(incubation.Celsius(34)),
		Night: &book.NightLimits{From: 21 * 60, To: 7 * 60, PeriodLimits: book.PeriodLimits{
			LowCelsius: ptr(incubation.Celsius(18)), HighCelsius: ptr(incubation.Celsius(26)),
		}},
		Cooling: &book.CoolingLimits{
			From: book.YearDay{Month: 11, Day: 15}, To: book.YearDay{Month: 2, Day: 28},
			PeriodLimits: book.PeriodLimits{HighCelsius: ptr(incubation.Celsius(20)), LowCelsius: ptr(incubation.Celsius(12))},
		},
		RuleOverrides: map[string]book.RuleOverride{"below-limit": {OnDelaySeconds: ptr(3600.0)}},
	}
	for i := range s.snap.Places {
		if s.snap.Places[i].ID == "pepper" {
			s.snap.Places[i].Limits = p
		}
	}
}

func TestAPlaceSaysWhichLimitsAreInForce(t *testing.T) {
	for _, c := range []struct {
		why    string
		period book.Period
		says   string // "": nothing
		api    string
	}{
		{"by day nothing need be said", book.Period{}, "", ""},
		{"by night", book.Period{Night: true}, "<dd>the limits of the night</dd>", `"limits_period":{"night":true}`},
		{"in the cooling season", book.Period{Night: true, Cooling: true}, "<dd>the limits of the cooling season</dd>", `"cooling":true`},
		{"at dusk", book.Period{Night: true, Settles: true}, "the limits of the night, and those of before until it has followed", `"settles":true`},
		{"at dawn", book.Period{Settles: true}, "the limits of the day, and those of before until it has followed", `"settles":true`},
	} {
		t.Run(c.why, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				limited(s, c.period)
				page := s.ask("GET", "/places/pepper", "").Body.String()
				if has := strings.Contains(page, "In force"); has != (c.says != "") || !strings.Contains(page, c.says) {
					t.Errorf("the page lacks %q", c.says)
				}
				for _, own := range []string{"from 21:00 to 07:00 too cold under", "from 15 Nov to 28 Feb too cold under", "“Below its limit” after 1 h"} {
					if !strings.Contains(page, own) {
						t.Errorf("the page lacks %q", own)
					}
				}
				var room json.RawMessage
				if err := json.Unmarshal(s.ask("GET", "/api/room", "").Body.Bytes(), &room); err != nil {
					t.Fatal(err)
				}
				if got := strings.ReplaceAll(string(room), " ", ""); !strings.Contains(got, c.api) || c.api == "" && strings.Contains(got, "limits_period") {
					t.Errorf("the API lacks %q", c.api)
				}
			})
		})
	}
}

func TestLimitFormsLook(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		limited(s, book.Period{Night: true})
		golden(t, "form-limits-year", s.ask("GET", "/entries/new?kind=limits&place=pepper", "").Body.String())
		golden(t, "form-rule", s.ask("GET", "/entries/new?kind=limits&one=rule&place=oak", "").Body.String())
		golden(t, "place-limits", s.ask("GET", "/places/pepper", "").Body.String())
	})
}
