package fit_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat"

	"clutchd/incubation"
	"clutchd/incubation/species"
	"clutchd/incubation/species/fit"
)

// dipsosaurus are the durations of the desert iguana's eggs at constant
// temperatures, Muth 1980 figure 2, water potentials pooled: a lizard with a
// true optimum. The other columns are derived: rates, % a day, by a
// Sharpe-Schoolfield curve (Schoolfield et al. 1981) and a Brière-1 curve
// (Brière et al. 1999) of the parameters in TestRateModels.
var dipsosaurus = []struct{ celsius, days, rate, schoolfield, briere float64 }{
	{28, 82.53, 1.2117, 1.2151, 1.2011},
	{30, 66.40, 1.5060, 1.4961, 1.5125},
	{32, 56.25, 1.7778, 1.7860, 1.7980},
	{34, 49.00, 2.0408, 2.0437, 2.0384},
	{35, 46.71, 2.1409, 2.1440, 2.1340},
	{36, 44.82, 2.2311, 2.2164, 2.2081},
	{38, 44.44, 2.2502, 2.2599, 2.2700},
	{40, 46.17, 2.1659, 2.1633, 2.1624},
}

// calotes are durations of the garden lizard Calotes versicolor, Inamdar et
// al. 2012 table 1.
var calotes = []fit.Point{
	{Celsius: 22.5, Days: 91},
	{Celsius: 23.5, Days: 84},
	{Celsius: 24.5, Days: 77},
	{Celsius: 25.5, Days: 68},
	{Celsius: 26.5, Days: 64},
	{Celsius: 27.5, Days: 63},
	{Celsius: 28.5, Days: 59},
	{Celsius: 29.5, Days: 52},
	{Celsius: 30.5, Days: 49},
	{Celsius: 31.5, Days: 44},
	{Celsius: 32.5, Days: 40},
	{Celsius: 33.0, Days: 39},
	{Celsius: 34.0, Days: 37},
}

func within(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s is %.6g, want %.6g ± %.2g", what, got, want, by)
	}
}

// The usual rate models, with the parameters that were fitted to the desert
// iguana, give their columns to the printed digit: % a day.
func TestRateModels(t *testing.T) {
	const gas = 8.314472 // J/(mol K)
	schoolfield := func(celsius float64) float64 {
		k := celsius + 273.15
		r := 0.88348196 * k / 298.15 * math.Exp(94567.036/gas*(1/298.15-1/k))
		return r / (1 + math.Exp(203556.66/gas*(1/311.11703-1/k)))
	}
	briere := func(celsius float64) float64 {
		return 0.0013814707 * celsius * (celsius - 20.2158770249) * math.Sqrt(43.9121573894-celsius)
	}
	for _, row := range dipsosaurus {
		within(t, "rate", 100/row.days, row.rate, 0.00006)
		within(t, "Sharpe-Schoolfield", schoolfield(row.celsius), row.schoolfield, 0.00006)
		within(t, "Brière", briere(row.celsius), row.briere, 0.00006)
	}
}

// A straight line through rates: zero and degree-days, °C and K.
func line(points []fit.Point) (zero, degreeDays float64) {
	var x, y []float64
	for _, p := range points {
		x, y = append(x, p.Celsius), append(y, 1/p.Days)
	}
	intercept, slope := stat.LinearRegression(x, y, nil, false)
	return -intercept / slope, 1 / slope
}

func points(r fit.Series) []fit.Point { return r.Points }

func TestStraightLines(t *testing.T) {
	var desert []fit.Point
	for _, row := range dipsosaurus {
		desert = append(desert, fit.Point{Celsius: row.celsius, Days: row.days})
	}
	series := fit.Leopard().Series
	for _, row := range []struct {
		why              string
		points           []fit.Point
		zero, degreeDays float64
		by, within       float64
	}{
		{"Calotes versicolor, Inamdar et al. 2012; derived", calotes, 15.39674, 708.3439, 6e-6, 6e-5},
		{"Dipsosaurus: a bad line, beyond its optimum; derived", desert, 12.139, 1147.8, 6e-4, 0.06},
		{"Gekko japonicus, Ding et al. 2012; derived", points(series[0]), 15.53, 672.3, 0.006, 0.1},
		{"Paroedura picta, Blumberg et al. 2002; derived", points(series[3]), 18.78, 554.0, 0.006, 0.06},
		{"Heteronotia binoei, Kearney & Shine 2004; derived", points(series[2]), 19.93, 609.9, 0.006, 0.1},
	} {
		zero, degreeDays := line(row.points)
		within(t, row.why+": zero", zero, row.zero, row.by)
		within(t, row.why+": degree-days", degreeDays, row.degreeDays, row.within)
	}
}

// closest fits the rate curve that members have to durations, by least squares
// of their logarithms, and gives it with its greatest error, a share.
func closest(t *testing.T, points []fit.Point, bends bool) (incubation.Growth, float64) {
	t.Helper()
	grow := func(x []float64) (incubation.Growth, incubation.Member) {
		g := incubation.Growth{Zero: x[0], Anchor: points[0].Celsius, Days: math.Exp(x[1]), Bend: 60, Peak: 1}
		if bends {
			g.Bend, g.Peak = x[2], math.Exp(x[3])
		}
		var m incubation.Member
		m.Grow(g)
		return g, m
	}
	miss := func(x []float64) float64 {
		_, m := grow(x)
		sum := 0.0
		for _, p := range points {
			r := m.Rate(p.Celsius)
			if r == 0 {
				return 1e6
			}
			sum += math.Pow(math.Log(r*p.Days), 2)
		}
		return sum
	}
	// The search finds the nearest hollow: of several, the deepest.
	var best *optimize.Result
	for _, under := range []float64{4, 7, 10} {
		start := []float64{points[0].Celsius - under, math.Log(points[0].Days)}
		if bends {
			start = append(start, 33, math.Log(4))
		}
		found, err := optimize.Minimize(optimize.Problem{Func: miss}, start,
			&optimize.Settings{FuncEvaluations: 20000}, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		if best == nil || found.F < best.F {
			best = found
		}
	}
	g, m := grow(best.X)
	worst := 0.0
	for _, p := range points {
		worst = max(worst, math.Abs(m.Rate(p.Celsius)*p.Days-1))
	}
	return g, worst
}

// The curve that members have, a line less a parabola, against whole series of
// durations: what it misses at worst. From the desert iguana's the priors of
// the leopard gecko's bend and optimum are taken.
func TestRateCurve(t *testing.T) {
	var desert []fit.Point
	for _, row := range dipsosaurus {
		desert = append(desert, fit.Point{Celsius: row.celsius, Days: row.days})
	}
	series := fit.Leopard().Series
	for _, row := range []struct {
		why    string
		points []fit.Point
		bends  bool
		within float64
	}{
		{"Dipsosaurus dorsalis, Muth 1980", desert, true, 0.008},
		{"Calotes versicolor, Inamdar et al. 2012: no bend in its range", calotes, false, 0.09},
		{"Gekko japonicus, Ding et al. 2012: a line, though it bends", series[0].Points, false, 0.06},
		{"Gekko japonicus, Tokunaga 1985", series[1].Points, false, 0.02},
		{"Heteronotia binoei, Kearney & Shine 2004", series[2].Points, false, 0.03},
		{"Paroedura picta, Blumberg et al. 2002", series[3].Points, false, 0.04},
	} {
		g, worst := closest(t, row.points, row.bends)
		t.Logf("%s: zero %.2f, bend %.2f, peak %.2f; at worst %.2f %% off", row.why, g.Zero, g.Bend, g.Peak,
			100*worst)
		if worst > row.within {
			t.Errorf("%s: the curve is %.1f %% off, want %.1f at most", row.why, 100*worst, 100*row.within)
		}
		if row.bends {
			p := fit.Leopard().Priors
			within(t, "peak of the curve, as in the prior", g.Peak, p["peak"].Mean, 0.05)
			within(t, "its optimum below 40 °C, and the prior's below 35.4", 40-g.Bend-g.Peak,
				35.4-p["optimum"].Mean, 0.05)
		}
	}
}

// The relatives' zeros come out of their hierarchy where their lines put them,
// drawn towards each other, and the leopard gecko's prior covers them all.
func TestZeros(t *testing.T) {
	z := whole(t).Zeros
	for _, row := range []struct {
		name string
		line float64
		by   float64
	}{
		{"Gekko japonicus", 15.6, 1},
		{"Paroedura picta", 18.78, 0.8},
		{"Heteronotia binoei", 19.93, 0.8},
		{"Hemidactylus bowringii", 16.8, 1},
	} {
		within(t, row.name, z.Species[row.name], row.line, row.by)
		if off := math.Abs(row.line - z.Mean); off > 1.645*z.SD {
			t.Errorf("the zero of %s, %g, lies outside of nine in ten new geckos' %.1f ± %.1f", row.name,
				row.line, z.Mean, 1.645*z.SD)
		}
	}
	if z.Mean < 15 || z.Mean > 19 || z.SD < 1.5 || z.SD > 4 {
		t.Errorf("a new gecko's zero is %.2f, sd %.2f", z.Mean, z.SD)
	}
	if !testing.Short() && z.Result.WorstRHat() > 1.02 {
		t.Errorf("the chains do not agree: R-hat %.3f", z.Result.WorstRHat())
	}
}

// Every member grows as an embryo can: faster with warmth up to 33 °C, fastest
// by 37, and not at all where none lives; the middle one between what keepers
// report at either end.
func TestGrowthOfMembers(t *testing.T) {
	_, members := species.LeopardFit()
	at := map[float64][]float64{}
	for i, m := range members {
		for c := 20.0; c < 33; c += 0.25 {
			if m.Rate(c+0.25) < m.Rate(c) {
				t.Fatalf("member %d grows slower above %.2f °C", i, c)
			}
		}
		if m.Rate(37) >= m.Rate(36) || m.Rate(48) != 0 {
			t.Fatalf("member %d: rate %.4f at 36, %.4f at 37, %.4f at 48 °C", i, m.Rate(36), m.Rate(37),
				m.Rate(48))
		}
		for _, c := range []float64{26.7, 28, 32} {
			at[c] = append(at[c], 1/m.Rate(c))
		}
	}
	for _, row := range []struct {
		why             string
		celsius         float64
		earliest, least float64
		most, latest    float64
	}{
		{"keepers: about 60 to 65 d; common practice", 26.7, 54, 59, 66, 72},
		{"Wise et al. 2009 and keepers: 52 to 62 d", 28, 49, 52, 58, 62},
		{"keepers: 37 to 40 d; common practice", 32, 34, 37, 44, 48},
	} {
		low, middle, high := spread(at[row.celsius])
		t.Logf("%g °C: %.1f d (%.1f to %.1f)", row.celsius, middle, low, high)
		if middle < row.least || middle > row.most || low < row.earliest || high > row.latest {
			t.Errorf("%s: %.1f d (%.1f to %.1f) at %g °C", row.why, middle, low, high, row.celsius)
		}
	}
}
