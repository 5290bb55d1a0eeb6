package sampler_test

import (
	"math"
	"testing"

	"clutchd/incubation/sampler"
)

// The density of a normal distribution with the draws' mean and covariance: by
// hand, of four points about (1, 2) with variances 4/3 and 16/3 and none in
// common.
func TestNormalOfDraws(t *testing.T) {
	target, sds, err := sampler.Normal([][]float64{{0, 0}, {2, 0}, {0, 4}, {2, 4}})
	if err != nil {
		t.Fatal(err)
	}
	at := func(x, y float64) float64 {
		return -math.Log(2*math.Pi) - math.Log(4./3*16/3)/2 - (x-1)*(x-1)*3/8 - (y-2)*(y-2)*3/32
	}
	for _, p := range [][]float64{{1, 2}, {0, 0}, {3, -1}} {
		if got, want := target(p), at(p[0], p[1]); math.Abs(got-want) > 1e-12 {
			t.Errorf("log density at %v is %g, want %g", p, got, want)
		}
	}
	if math.Abs(sds[0]-math.Sqrt(4./3)) > 1e-12 || math.Abs(sds[1]-math.Sqrt(16./3)) > 1e-12 {
		t.Errorf("sds are %v", sds)
	}
	for why, draws := range map[string][][]float64{
		"no draws":                    nil,
		"as many draws as numbers":    {{0, 1}, {1, 0}},
		"numbers that follow another": {{0, 0}, {1, 2}, {2, 4}, {3, 6}},
	} {
		if _, _, err := sampler.Normal(draws); err == nil {
			t.Errorf("%s: no error", why)
		}
	}
}
