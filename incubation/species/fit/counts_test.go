package fit_test

import (
	"slices"
	"testing"

	"clutchd/incubation/species/fit"
)

// A tally is the hatchlings of one temperature, laboratories pooled.
type tally struct {
	celsius      float64
	sexed, males int
}

// tallies pools the rows that are fitted: the nine temperatures of Viets et al.
// 1993 table 1 and Kratochvíl et al. 2008 table 1.
func tallies(d fit.Data) []tally {
	var out []tally
	for _, h := range d.Hatchlings {
		if h.LeftOut != "" {
			continue
		}
		i := slices.IndexFunc(out, func(t tally) bool { return t.celsius == h.Celsius })
		if i < 0 {
			i = len(out)
			out = append(out, tally{celsius: h.Celsius})
		}
		out[i].sexed += h.Sexed
		out[i].males += h.Males
	}
	return out
}

// inside says whether a count lies in the 90 % interval of its distribution.
func inside(distribution []float64, males int) (ok bool, below, above float64) {
	for k, p := range distribution {
		if k < males {
			below += p
		}
		if k > males {
			above += p
		}
	}
	return below <= 0.95 && above <= 0.95, below, above
}

// What hatched is no surprise to the fit: by the room that nobody has measured
// and with siblings going together, which is what a keeper's eggs are, and
// narrower, as eggs of an average laboratory and independent.
func TestPublishedCounts(t *testing.T) {
	c := whole(t).Curves()
	rows := tallies(fit.Leopard())
	if len(rows) != 9 {
		t.Fatalf("%d temperatures, want 9", len(rows))
	}
	for _, how := range []struct {
		why             string
		rooms, clutches bool
		least           int
	}{
		{"a new room, siblings alike", true, true, 8},
		{"a new room, independent eggs", true, false, 8},
		{"an average laboratory, siblings alike", false, true, 8},
		{"an average laboratory, independent eggs", false, false, 7},
	} {
		held := 0
		for _, row := range rows {
			ok, below, above := inside(c.Predict(row.celsius, row.sexed, how.rooms, how.clutches), row.males)
			if ok {
				held++
			}
			t.Logf("%s: %g °C, %d of %d: below it %.3f, above it %.3f", how.why, row.celsius, row.males,
				row.sexed, below, above)
		}
		if held < how.least {
			t.Errorf("%s: %d of %d counts lie in their 90 %% interval, want %d", how.why, held, len(rows),
				how.least)
		}
	}
}

// Each temperature left out in turn, and predicted from the others.
func TestCountsLeftOut(t *testing.T) {
	if testing.Short() || raced {
		t.Skip("nine fits")
	}
	d := fit.Leopard()
	rows, held := tallies(d), 0
	for _, row := range rows {
		without := d
		without.Hatchlings = slices.DeleteFunc(slices.Clone(d.Hatchlings), func(h fit.Hatchlings) bool {
			return h.Celsius == row.celsius
		})
		c, err := fit.FitSex(without, fit.Options{Burn: 1000, Keep: 200, Thin: 15})
		if err != nil {
			t.Fatal(err)
		}
		if c.Result.WorstRHat() > 1.1 {
			t.Errorf("without %g °C the chains do not agree: R-hat %.3f", row.celsius, c.Result.WorstRHat())
		}
		ok, below, above := inside(c.Predict(row.celsius, row.sexed, true, true), row.males)
		if ok {
			held++
		}
		t.Logf("without %g °C: %d of %d, below it %.3f, above it %.3f", row.celsius, row.males, row.sexed,
			below, above)
	}
	if held < 7 {
		t.Errorf("%d of %d counts lie in the 90 %% interval of the others', want 7", held, len(rows))
	}
}

// Warmer than the counts reach.
func TestHotEggs(t *testing.T) {
	c := whole(t).Curves()
	mean := func(celsius float64) float64 { return c.Predict(celsius, 1, true, true)[1] }
	for _, row := range []struct {
		why                string
		celsius, low, high float64
	}{
		{"Flores et al. 1994: 5 % males at 34 °C", 34, 0.02, 0.20},
		{"Viets et al. 1993: mostly females at 35 °C", 35, 0, 0.05},
	} {
		if p := mean(row.celsius); p < row.low || p > row.high {
			t.Errorf("%s: the fit says %.3f, want %g to %g", row.why, p, row.low, row.high)
		}
	}
}

// spread is the 5 % point, the median and the 95 % point.
func spread(values []float64) (low, middle, high float64) {
	slices.Sort(values)
	n := float64(len(values))
	return values[int(0.05*n)], values[int(0.5*n)], values[int(0.95*n)]
}
