package incubation_test

import (
	"fmt"
	"math"
	"testing"

	"clutchd/incubation"
)

// The constant temperature of the same effect for T = mean + swing·cos(2πt),
// growth a straight line: the median of temperature by development. Derived
// from the rule of Georges 1989; Georges et al. 1994 hatched only males of a
// turtle at 26±3 and only females at 26±7 and 26±8 °C.
func TestCTE(t *testing.T) {
	for _, row := range []struct{ mean, swing, zero, cte float64 }{
		{26, 3, 17.5, 26.982},
		{26, 7, 17.5, 30.257},
		{26, 8, 17.5, 31.229},
		{28, 2, 17.5, 28.372},
		{28, 4, 17.5, 29.398},
		{30, 2, 17.5, 30.315},
		{30, 4, 17.5, 31.202},
		{31, 3, 17.5, 31.646},
		{28.5, 3, 15, 29.146},
	} {
		// Forty days at the mean: the TSP is the twenty whole days from the
		// second on.
		e := exact(row.zero, row.mean, 40)
		e.Members[0].Start, e.Members[0].End = 2.0/40, 22.0/40
		daily := curve(func(d float64) float64 { return row.mean + row.swing*math.Cos(2*math.Pi*d) })
		track := daily.lay(t, e, 23)
		got := track.Estimate(incubation.Question{Now: day(23)})
		near(t, fmt.Sprintf("CTE of %g±%g °C", row.mean, row.swing), float64(got.CTE.Value), row.cte,
			0.01)
		if got.TSP.State != incubation.TSPClosed {
			t.Errorf("the TSP is %s after all of it", got.TSP.State)
		}
	}
}

// Ten-minute blocks of a record read every ten seconds, against growth summed
// up reading by reading: what the block costs.
func TestBlockLength(t *testing.T) {
	const step = 10.0 / 86400
	for _, row := range []struct {
		why    string
		c      curve
		within float64 // of development
	}{
		{"an on/off thermostat: half a degree either way in forty minutes", swinging(28), 1e-9},
		{
			"a swing of four degrees a day, on the straight line",
			func(d float64) float64 { return 25 + 4*math.Sin(2*math.Pi*d) }, 1e-9,
		},
		{
			"half a degree either way about the bend",
			swinging(29.8), 1e-4,
		},
		{
			"four degrees either way in forty minutes about the bend, which no incubator does",
			func(d float64) float64 { return 29.8 + 4*math.Sin(2*math.Pi*d*36) }, 0.005,
		},
	} {
		e := exact(17.5, 28, 53.5)
		m := &e.Members[0]
		m.Bend, m.Brake = 29.8, m.PerDegree/2/4.1 // as the species file has them
		var aligner incubation.Aligner
		track := incubation.NewTrack(e, laidAt(day0))
		grown := 0.0
		for i := range 20 * 8640 {
			at := (float64(i) + 0.5) * step
			c := row.c(at)
			grown += m.Rate(c) * step
			b, ok := aligner.Add(reading(day(at), c))
			if ok {
				add(t, track, b)
			}
		}
		if b, ok := aligner.Close(day(20)); ok {
			add(t, track, b)
		}
		got := track.Estimate(incubation.Question{Now: day(20)}).Development.Fraction
		t.Logf("%s: off by %.2g of %.3f of development after 20 days", row.why, got-grown, grown)
		near(t, row.why, got, grown, row.within)
	}
}

func add(t testing.TB, track *incubation.Track, b incubation.Block) {
	t.Helper()
	if err := track.Add(b); err != nil {
		t.Fatal(err)
	}
}

// Georges et al. 1994 hatched loggerheads under daily cycles about 26 °C: only
// males at 26±0 and 26±3, only females at 26±7 and 26±8. The mean is 26 °C in
// all four and so calls all of them male; the median by development tells them
// apart. The pivotal temperature is that of the species, 29 °C from memory; its
// slope is judgement.
func TestTheMeanAloneIsWrong(t *testing.T) {
	for _, row := range []struct {
		swing  float64
		female bool
	}{{0, false}, {3, false}, {7, true}, {8, true}} {
		e := exact(17.5, 26, 60)
		m := &e.Members[0]
		m.Start, m.End = 20.0/60, 40.0/60
		m.Rising, m.Falling = incubation.Flank{}, incubation.Flank{Pivotal: 29, Slope: 0.3}
		daily := curve(func(d float64) float64 { return 26 + row.swing*math.Cos(2*math.Pi*d) })
		male := func(rule incubation.Summary) float64 {
			m.Rule = rule
			return daily.lay(t, e, 45).Estimate(incubation.Question{Now: day(45)}).Sex.MaleProbability
		}
		if p := male(incubation.ByMedian); (p < 0.05) != row.female || (p > 0.95) == row.female {
			t.Errorf("26±%g °C: by the median a male has %.3f; what hatched was female: %v", row.swing, p, row.female)
		}
		// The development-weighted mean of a swing lies above 26 too, but not
		// by enough: at ±7 it is 28.9.
		mean := m.Chance(26)
		if mean < 0.95 {
			t.Errorf("26 °C constant gives a male %.3f", mean)
		}
		t.Logf("26±%g °C: male %.3f by the plain mean, %.3f by the mean by development, %.3f by the median",
			row.swing, mean, male(incubation.ByMean), male(incubation.ByMedian))
	}
}
