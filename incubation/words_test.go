package incubation_test

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"clutchd/incubation"
)

func TestWords(t *testing.T) {
	daily := func(mean, swing float64) curve {
		return func(d float64) float64 { return mean + swing*math.Sin(2*math.Pi*d) }
	}
	for _, row := range []struct {
		why  string
		c    curve
		day  float64
		want string
	}{
		{"nothing is settled on day 3", constant(27), 3, "forecast: almost surely female"},
		{"in the TSP", constant(27), 20, "almost surely female, not settled yet"},
		{"after it", constant(27), 45, "almost surely female"},
		{"near the threshold anything may come of it", constant(30.4), 35, "either sex"},
		{"warm", constant(31.6), 35, "likely male"},
		{"too warm for males, of which little is known", constant(34), 30, "leaning female"},
		{"far too warm for males", constant(34.7), 30, "likely female"},
		{"a thermostat's swing is not worth a word", swinging(27), 45, "almost surely female"},
		{
			"a swing of two degrees a day was never tried", daily(27, 2), 45,
			"almost surely female (temperature varied: extrapolated)",
		},
	} {
		got := row.c.lay(t, leopards(), row.day).Estimate(incubation.Question{Now: day(row.day)}).Sex
		if got.Words != row.want {
			t.Errorf("%s: %q, want %q (%+v)", row.why, got.Words, row.want, got)
		}
	}
}

// At a temperature at which nothing develops there is no forecast, however
// surely a warmer egg's sex would follow from it.
func TestNoWordsAtAStandstill(t *testing.T) {
	got := constant(12).lay(t, leopards(), 10).Estimate(incubation.Question{Now: day(10)})
	if got.Sex.Words != "no telling: hardly any development" || got.Sex.Low != 0 || got.Sex.High != 1 ||
		!got.TSP.Opens.IsZero() || !got.Hatch.Likely.IsZero() {
		t.Errorf("an egg at 12 °C: %+v", got)
	}
	plan := []incubation.Step{{From: day(10), Celsius: 28}}
	got = constant(12).lay(t, leopards(), 10).Estimate(incubation.Question{Now: day(10), Plan: plan})
	if got.Sex.Words == "no telling: hardly any development" || got.TSP.Opens.IsZero() {
		t.Errorf("an egg at 12 °C that is to be warmed: %+v", got)
	}
}

// Words never say more than the interval does.
func TestWordsFollowTheInterval(t *testing.T) {
	male, female := regexp.MustCompile(`\bmale`), regexp.MustCompile(`\bfemale`)
	said := map[string]bool{}
	for c := 26.0; c <= 35; c += 0.5 {
		track, from := incubation.NewTrack(leopards(), laidAt(day0)), 0.0
		for _, at := range []float64{2, 18, 40} {
			constant(c).feed(t, track, from, at)
			from = at
			s := track.Estimate(incubation.Question{Now: day(at)}).Sex
			said[strings.TrimPrefix(strings.TrimSuffix(s.Words, ", not settled yet"), "forecast: ")] = true
			if male.MatchString(s.Words) && s.Low <= 0.5 || female.MatchString(s.Words) && s.High >= 0.5 {
				t.Errorf("%g °C, day %g: %q for %.2f to %.2f", c, at, s.Words, s.Low, s.High)
			}
		}
	}
	if len(said) != 6 {
		t.Errorf("from 26 to 35 °C it says %v; each of the six leanings has its place there", said)
	}
}
