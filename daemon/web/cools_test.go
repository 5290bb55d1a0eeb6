package web_test

import (
	"bytes"
	"html"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"clutchd/daemon/monitor"
	"clutchd/incubation/thermal"
)

// What a place's page says of how it cools, and the API as its schema has it.
func TestPlaceSaysHowItCools(t *testing.T) {
	hours := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	for _, c := range []struct {
		name      string
		cooling   *thermal.Cooling
		countdown *monitor.Countdown
		want      string
	}{
		{"seen three times", &thermal.Cooling{Tau: hours(3), Seen: 3}, nil, "loses half its warmth over the room in 2 h 5 min, seen 3 times"},
		{"seen once", &thermal.Cooling{Tau: hours(1), Seen: 1}, nil, "loses half its warmth over the room in 42 min, seen once"},
		{
			"from its thermostat alone", &thermal.Cooling{Tau: hours(2), Cycles: 140}, nil,
			"loses half its warmth over the room in 1 h 23 min, from 140 pauses of its thermostat",
		},
		{
			"on battery", nil, &monitor.Countdown{Limit: 26, Likely: hours(2.5), Early: hours(2)},
			"falls under 26.0\u00a0°C in about 2 h 30 min, in 2 h at the earliest",
		},
		{
			"on battery, never seen to cool", nil, &monitor.Countdown{Limit: 26, Likely: hours(2.5), Early: hours(1), Guess: true},
			"in 1 h at the earliest: a guess from a typical cabinet",
		},
		{"too cool already", nil, &monitor.Countdown{Celsius: 25, Limit: 26}, "is under 26.0\u00a0°C already"},
		{"in a warm room", nil, &monitor.Countdown{Limit: 26, Never: true}, "stays over 26.0\u00a0°C while the room stays as warm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				for i := range s.snap.Places {
					if p := &s.snap.Places[i]; p.ID == "oak" {
						p.Cooling, p.Countdown = c.cooling, c.countdown
					}
				}
				page := html.UnescapeString(s.ask("GET", "/places/oak", "").Body.String())
				if !strings.Contains(page, c.want) {
					t.Errorf("the page does not say %q", c.want)
				}
				_, compiler := readOpenAPI(t, s)
				schema, err := compiler.Compile("openapi.json#/components/schemas/Room")
				if err != nil {
					t.Fatal(err)
				}
				body, err := jsonschema.UnmarshalJSON(bytes.NewReader(s.ask("GET", "/api/room", "").Body.Bytes()))
				if err != nil {
					t.Fatal(err)
				}
				if err := schema.Validate(body); err != nil {
					t.Error(err)
				}
			})
		})
	}
}
