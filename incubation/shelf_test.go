package incubation_test

import (
	"math"
	"slices"
	"testing"

	"clutchd/incubation"
)

// series is blocks of a curve from a day to another, of a probe in a position.
func series(c curve, from, to float64, probe string, at incubation.Position) []incubation.Block {
	var out []incubation.Block
	for b := block(day(from), 0); b.Start.Before(day(to)); b.Start = b.Start.Add(incubation.BlockLength) {
		b.Celsius = incubation.Celsius(c(b.Start.Sub(day0).Hours() / 24))
		b.Probe, b.Position = probe, at
		out = append(out, b)
	}
	return out
}

func TestLearnShelf(t *testing.T) {
	air := series(swinging(28), 0, 5, "air", incubation.IncubatorAir)
	warmer := func(by float64) curve { return func(d float64) float64 { return swinging(28)(d) + by } }
	daily := func(d float64) float64 { return swinging(28)(d) + 0.9 + 0.5*math.Sin(2*math.Pi*d/3) }
	record := leopards().Profile.Record
	two := slices.Concat(series(warmer(1), 0, 5, "warm side", incubation.IncubatorAir), air)
	if got, _ := incubation.LearnShelf(air, two, record); math.Abs(got.Kelvin+0.5) > 1e-6 {
		t.Errorf("between two probes of the air the difference is %.2f K, want to their mean", got.Kelvin)
	}
	for _, row := range []struct {
		why        string
		own        []incubation.Block
		learned    bool
		kelvin, sd float64
	}{
		{
			"a top shelf, its probe in the substrate and good to 0.2 K", series(warmer(0.9), 0, 5, "p", incubation.Substrate),
			true, 0.9, math.Hypot(0.1, record.Substrate.Value),
		},
		{
			"the same, in the box's air", series(warmer(0.9), 0, 5, "p", incubation.BoxAir),
			true, 0.9, math.Hypot(0.1, record.BoxAir.Value),
		},
		{
			// The mean over five days of a wave of three is not quite none, and
			// days lie about 0.3 K apart.
			"a difference that changes from day to day is less sure", series(daily, 0, 5, "p", incubation.Substrate),
			true, 0.9, 0.33,
		},
		{"half a day is the least", series(warmer(0.9), 0, 0.45, "p", incubation.Substrate), false, 0, 0},
		{"never at the same time", series(warmer(0.9), 6, 9, "p", incubation.Substrate), false, 0, 0},
	} {
		got, ok := incubation.LearnShelf(row.own, air, record)
		if ok != row.learned {
			t.Errorf("%s: learned is %v", row.why, ok)
		}
		near(t, row.why+": difference", got.Kelvin, row.kelvin, 0.1)
		near(t, row.why+": its sd", got.SD, row.sd, 0.03)
	}
}

// Eggs of which only the incubator was measured count as their box once its
// shelf is known, and more surely than without.
func TestShelvesCount(t *testing.T) {
	lay := func() *incubation.Track {
		track := incubation.NewTrack(leopards(), laidAt(day0))
		for _, b := range series(constant(28), 0, 35, "air", incubation.IncubatorAir) {
			b.Shelf = incubation.ShelfName("box", "inc")
			add(t, track, b)
		}
		return track
	}
	q := incubation.Question{Now: day(35)}
	bare, known := lay(), lay()
	if !bare.Unasked() {
		t.Error("a record that rests on a shelf does not ask about it")
	}
	known.SetShelf("box@inc", &incubation.Shelf{Kelvin: 0.9, SD: 0.15})
	if known.Unasked() {
		t.Error("it asks on after it was told")
	}
	a, b := bare.Estimate(q).CTE, known.Estimate(q).CTE
	near(t, "the shelf moves the CTE by", float64(b.Value-a.Value), 0.9, 0.1)
	near(t, "the CTE is then known to, K", float64(b.High-b.Low), 2*1.645*math.Hypot(0.1, 0.15), 0.06)
	near(t, "and was to, K", float64(a.High-a.Low), 2*1.645*math.Hypot(0.1, 0.8), 0.15)
}
