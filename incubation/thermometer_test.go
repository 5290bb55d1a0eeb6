package incubation_test

import (
	"math"
	"testing"

	"clutchd/incubation"
)

// misread is an egg at a true temperature whose probe, said to be good to so
// many kelvin, is off by bias.
func misread(t *testing.T, e *incubation.Ensemble, truth, bias, accuracy float64) incubation.Sex {
	t.Helper()
	track := incubation.NewTrack(e, laidAt(day0))
	for b := block(day0, truth+bias); b.Start.Before(day(45)); b.Start = b.End() {
		b.Accuracy = accuracy
		add(t, track, b)
	}
	return track.Estimate(incubation.Question{Now: day(45)}).Sex
}

// Near the lower pivotal temperature half a degree is a quarter of all males:
// the curve's slope there is 1/(4·0.4966) = 0.50 for each K, derived. A probe
// that nobody calibrated says so by its interval.
func TestHalfADegreeAtThePivotal(t *testing.T) {
	// With everything but the thermometer known, along the curve itself.
	known := exact(17.5, 28, 53.5)
	at := func(bias float64) float64 { return misread(t, known, 30.31, bias, 0.05).MaleProbability }
	near(t, "slope at the pivotal temperature, for each K", (at(0.02)-at(-0.02))/0.04, 0.50, 0.02)
	near(t, "half a degree warm", at(0.5)-at(0), 0.25, 0.05)
	near(t, "half a degree cold", at(0)-at(-0.5), 0.25, 0.05)
	truth := known.Members[0].Chance(30.31)

	// As it ships: the point moves as much, less what it doubts anyhow.
	for _, row := range []struct {
		why            string
		bias, accuracy float64
		covered        bool
	}{
		{"right, and said to be good to 0.5 K", 0, 0.5, true},
		{"0.5 K warm, said to be good to 0.5", 0.5, 0.5, true},
		{"0.5 K cold, said to be good to 0.5", -0.5, 0.5, true},
		{"0.5 K warm, nobody said how good", 0.5, 0, true},
		{"0.5 K cold, nobody said how good", -0.5, 0, true},
		// What a false promise costs, and the reason to calibrate.
		{"1.0 K warm, said to be good to 0.1", 1.0, 0.1, false},
		{"1.0 K cold, said to be good to 0.1", -1.0, 0.1, false},
	} {
		s := misread(t, judges(), 30.31, row.bias, row.accuracy)
		right := misread(t, judges(), 30.31, 0, row.accuracy)
		t.Logf("%s: %.2f (%.2f to %.2f), moved by %+.2f; truth %.2f", row.why, s.MaleProbability, s.Low,
			s.High, s.MaleProbability-right.MaleProbability, truth)
		if covered := s.Low <= truth && truth <= s.High; covered != row.covered {
			t.Errorf("%s: covered is %v: %.2f to %.2f, truth %.2f", row.why, covered, s.Low, s.High, truth)
		}
		if math.Abs(row.bias) == 0.5 {
			near(t, row.why+": moved by", math.Abs(s.MaleProbability-right.MaleProbability), 0.22, 0.07)
		}
	}
}
