package incubation_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

func TestSexCurves(t *testing.T) {
	const pivotal, slope = 30.31438, 0.4932426
	logistic := incubation.Flank{Pivotal: pivotal, Slope: slope}
	skewed := incubation.Flank{Pivotal: pivotal, Slope: slope, Asymmetry: 0.5}
	flat := incubation.Flank{Pivotal: 30, Slope: 0.5, Below: 1, Above: 1}
	flexed := incubation.Flank{Pivotal: 30, Slope: 0.5, Below: 2, Above: 0.5}
	for _, row := range []struct {
		why     string
		flank   incubation.Flank
		celsius float64
		chance  float64
	}{
		{"logistic, Girondot 1999; value derived", logistic, 28, 0.009083},
		{"logistic", logistic, 29, 0.065084},
		{"logistic", logistic, 30, 0.345840},
		{"logistic: half at the pivotal temperature", logistic, pivotal, 0.5},
		{"logistic", logistic, 31, 0.800596},
		{"logistic", logistic, 31.5, 0.917111},
		{"A-logistic, Godfrey et al. 2003; value derived", skewed, 28, 0.036562},
		{"A-logistic", skewed, 29, 0.122958},
		{"A-logistic", skewed, 30, 0.374960},
		{"A-logistic: half at the pivotal temperature", skewed, pivotal, 0.5},
		{"A-logistic", skewed, 31, 0.772062},
		{"A-logistic", skewed, 32, 0.959772},
		{
			"flexit with both sides 1 is a logistic, Abreu-Grobois et al. 2020; value derived", flat, 28,
			0.017986,
		},
		{"flexit 1, 1", flat, 29, 0.119203},
		{"flexit 1, 1", flat, 31, 0.880797},
		{"flexit 2, ½", flexed, 28, 0.040084},
		{"flexit 2, ½", flexed, 29, 0.150455},
		{"flexit 2, ½", flexed, 29.5, 0.284199},
		{"flexit 2, ½: half at the pivotal temperature", flexed, 30, 0.5},
		{"flexit 2, ½", flexed, 30.5, 0.742997},
		{"flexit 2, ½", flexed, 31, 0.907251},
		{"flexit 2, ½", flexed, 32, 0.994585},
	} {
		m := incubation.Member{Rising: row.flank}
		near(t, row.why, m.Chance(row.celsius), row.chance, 1e-6)
		mirror := incubation.Member{Falling: row.flank}
		near(t, row.why+", mirrored", mirror.Chance(2*row.flank.Pivotal-row.celsius), row.chance, 1e-6)
	}
}

func TestDoubleLogistic(t *testing.T) {
	gecko := incubation.Member{
		Rising:  incubation.Flank{Pivotal: 30.30676, Slope: 0.4875686},
		Falling: incubation.Flank{Pivotal: 32.96997, Slope: 0.4270679},
	}
	alligator := incubation.Member{
		Rising:  incubation.Flank{Pivotal: 31.9857, Slope: 0.02154},
		Falling: incubation.Flank{Pivotal: 33.86762, Slope: 0.22148},
	}
	for _, row := range []struct {
		why     string
		m       incubation.Member
		celsius float64
		chance  float64
	}{
		{"leopard gecko, fit with n 20 at 34 °C; derived", gecko, 26, 0.0001},
		{"same", gecko, 27, 0.0011},
		{"same", gecko, 28, 0.0087},
		{"same", gecko, 29, 0.0641},
		{"same", gecko, 30, 0.3474},
		{"same", gecko, 30.5, 0.5960},
		{"same", gecko, 31, 0.7977},
		{"same", gecko, 31.5, 0.8918},
		{"same", gecko, 32, 0.8792},
		{"same", gecko, 32.5, 0.7421},
		{"same", gecko, 33, 0.4805},
		{"same", gecko, 34, 0.0822},
		{"same", gecko, 35, 0.0085},
		{"American alligator, fit to Lang & Andrews 1994 table 2; derived", alligator, 31.5, 0.0000},
		{"same; 0.66 hatched male", alligator, 32, 0.6600},
		{"same; 1.00", alligator, 32.5, 0.9979},
		{"same; 1.00", alligator, 33, 0.9805},
		{"same; 0.84", alligator, 33.5, 0.8402},
		{"same; 0.35", alligator, 34, 0.3549},
		{"same; 0.07", alligator, 34.5, 0.0544},
		{"same; 0.00", alligator, 35, 0.0060},
	} {
		// Four printed digits, and PL and SL of the alligator in four.
		near(t, row.why, row.m.Chance(row.celsius), row.chance, 0.0002)
	}
	near(t, "same fit: the peak is no certainty", gecko.Chance(31.695), 0.900, 0.0005)
}

// What is drawn from a profile alone lies about its numbers.
func TestDrawIsCentredOnItsProfile(t *testing.T) {
	p := species.Leopard()
	e := incubation.Draw(p, 3000)
	var zero, pivotal, laid float64
	for _, m := range e.Members {
		zero += m.Zero
		pivotal += m.Rising.Pivotal
		laid += m.Laid
	}
	n := float64(len(e.Members))
	// The mean of two half normals lies off their median by the difference of
	// their sd over √(2π).
	mean := func(x incubation.Number) float64 {
		return x.Value + (x.High+x.Low-2*x.Value)/1.6449*0.3989
	}
	near(t, "mean zero", zero/n, mean(p.Development.Zero), 0.01)
	near(t, "mean pivotal temperature", pivotal/n, mean(p.Sex.Rising.Pivotal), 0.001)
	near(t, "mean of where in the interval eggs were laid", laid/n, 0.5, 0.001)
}

// What a fit found is kept, and what belongs to one egg is dealt as Draw does.
func TestAssemble(t *testing.T) {
	_, fitted := species.LeopardFit()
	e := incubation.Assemble(species.Leopard(), fitted)
	var hatch, square, laid float64
	for i, m := range e.Members {
		hatch += m.Hatch
		square += (m.Hatch - 1) * (m.Hatch - 1)
		laid += m.Laid
		m.Number, m.Hatch, m.Position, m.Plan, m.Laid = 0, 0, 0, 0, 0
		if m != fitted[i] || e.Members[i].Number != i {
			t.Fatalf("member %d is %+v, number %d; its fit was %+v", i, m, e.Members[i].Number, fitted[i])
		}
	}
	n := float64(len(fitted))
	near(t, "mean of where in development eggs hatch", hatch/n, 1, 1e-6)
	near(t, "its sd, the profile's", math.Sqrt(square/n), species.Leopard().Development.EggSpread.Value, 2e-4)
	near(t, "mean of where in the interval eggs were laid", laid/n, 0.5, 1e-6)
	if e.Drawn != len(fitted) || len(e.Members) != len(fitted) {
		t.Errorf("%d members of %d drawn, from %d", len(e.Members), e.Drawn, len(fitted))
	}
	again := incubation.Assemble(species.Leopard(), fitted)
	if diff := cmp.Diff(e, again); diff != "" {
		t.Errorf("assembled again it is another:\n%s", diff)
	}
}

// An egg whose development in the TSP lay at a few temperatures, by each
// summary: the mean, the one below which half lies, the mean of the chances.
func TestByPortions(t *testing.T) {
	m := incubation.Member{
		Rising:  incubation.Flank{Pivotal: 30.3, Slope: 0.5},
		Falling: incubation.Flank{Pivotal: 33, Slope: 0.4},
	}
	for _, row := range []struct {
		why             string
		celsius, weight []float64
		mean, median    float64 // °C
		chance          float64
	}{
		{"one temperature", []float64{31}, []float64{0.3}, 31, 31, m.Chance(31)},
		{
			"a third cool",
			[]float64{26, 32},
			[]float64{0.1, 0.2},
			30, 32,
			m.Chance(26)/3 + m.Chance(32)*2/3,
		},
		{
			"the other way round",
			[]float64{32, 26},
			[]float64{0.1, 0.2},
			28, 26,
			m.Chance(26)*2/3 + m.Chance(32)/3,
		},
		{
			"three, and one of them twice",
			[]float64{30, 26, 32, 30},
			[]float64{1, 2, 1, 1},
			28.8, 30,
			m.Chance(30)*0.4 + m.Chance(26)*0.4 + m.Chance(32)*0.2,
		},
		{"nothing behind it: the last", []float64{26, 32}, []float64{0, 0}, 32, 32, m.Chance(32)},
	} {
		for rule, want := range map[incubation.Summary]float64{
			incubation.ByMean: m.Chance(row.mean), incubation.ByMedian: m.Chance(row.median),
			incubation.ByChance: row.chance,
		} {
			m.Rule = rule
			near(t, row.why, m.ByPortions(row.celsius, row.weight), want, 1e-12)
		}
	}
}
