package incubation_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// Another species from published values alone, males cool and females warm: a
// file and no code. Its profile is of durations and shares at constant
// temperatures; what hatched where the temperature swung by three degrees
// either way every day is not in it, and must come out. A clutch's sexes go
// together, which is left out here and would make the intervals wider.
func TestRedEaredSlider(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "testdata", "profiles", "red-eared-slider.json"))
	if err != nil {
		t.Fatal(err)
	}
	profile, err := species.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	e := incubation.Draw(profile, 0)
	swing := func(d float64) float64 { return 28.5 + 3*math.Sin(2*math.Pi*d) }
	for _, row := range []struct {
		why      string
		c        curve
		n, males int     // 0: not given
		days     float64 // 0: not given
	}{
		{"23 °C, Les et al. 2009 figure 2: 133.9 d", constant(23), 0, 0, 133.9},
		{"25 °C, Bull & Vogt 1979: all male; the number of eggs is judgement", constant(25), 20, 20, 0},
		{"28.5 °C, Les et al. 2007: 97 % of 55 male, 61 d", constant(28.5), 55, 53, 61},
		{"28.5 ± 3 °C a day, Les et al. 2007: 77 % of 52 male, 62 d", swing, 52, 40, 62},
		{"29.4 °C, Wibbels & Murdock: 79 of 157 male", constant(29.4), 157, 79, 0},
		{"31 °C, Bull & Vogt 1979: all female; Les et al. 2009: 50.1 d", constant(31), 20, 0, 50.1},
	} {
		track := row.c.lay(t, e, 48) // all of the TSP but where it is cool
		q := incubation.Question{Now: day(48)}
		got := track.Estimate(q)
		first, last := got.Hatch.Earliest.Sub(day0).Hours()/24, got.Hatch.Latest.Sub(day0).Hours()/24
		t.Logf("%s: %.1f to %.1f d, %.3f male, %s", row.why, first, last, got.Sex.MaleProbability,
			got.Sex.Words)
		if row.days > 0 && (row.days < first || row.days > last) {
			t.Errorf("%s: hatch is expected from day %.1f to %.1f", row.why, first, last)
		}
		if row.n == 0 {
			continue
		}
		below, above := 0.0, 0.0
		chances := track.Ask(q).Chances
		for _, p := range chances {
			for k, share := range binomial(row.n, p) {
				switch {
				case k < row.males:
					below += share / float64(len(chances))
				case k > row.males:
					above += share / float64(len(chances))
				}
			}
		}
		if below > 0.95 || above > 0.95 {
			t.Errorf("%s: %d males of %d are a surprise: below it %.3f, above it %.3f", row.why, row.males,
				row.n, below, above)
		}
	}
}
