package sampler_test

import (
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat"

	"clutchd/incubation/sampler"
)

// normal is a correlated normal distribution: neighbours by 0.8, sd 1, 2, 3 …
func normal(x []float64) float64 {
	sum, last := 0.0, 0.0
	for i, v := range x {
		z := (v - 10*float64(i)) / float64(i+1)
		if i == 0 {
			sum += z * z
		} else {
			sum += (z - 0.8*last) * (z - 0.8*last) / 0.36
		}
		last = z
	}
	return -sum / 2
}

func column(r sampler.Result, d int) []float64 {
	var out []float64
	for _, draw := range r.All() {
		out = append(out, draw[d])
	}
	return out
}

func within(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s is %.4f, want %.4f ± %.4f", what, got, want, by)
	}
}

// ones gives n equal numbers.
func ones(n int, x float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = x
	}
	return out
}

// The means, widths and correlation of a known distribution come back, to
// within four standard errors of as many independent draws as it claims.
func TestNormal(t *testing.T) {
	for _, dims := range []int{2, 8, 20, 40} {
		r, err := sampler.Run(normal, sampler.Options{
			Start: ones(dims, 1), Scale: ones(dims, 2), Burn: 4000, Keep: 3000, Thin: dims, Seed: 1,
		})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%d dimensions: %.2f accepted, R-hat %.4f, effective %.0f of 12000", dims, r.Accepted,
			r.WorstRHat(), r.LeastEffective())
		if r.Accepted < 0.1 || r.Accepted > 0.5 || r.WorstRHat() > 1.02 || r.LeastEffective() < 500 {
			t.Errorf("%d dimensions: %.2f accepted, R-hat %.4f, effective %.0f", dims, r.Accepted,
				r.WorstRHat(), r.LeastEffective())
		}
		for d := range dims {
			mean, sd := stat.MeanStdDev(column(r, d), nil)
			n, wide := r.Effective[d], float64(d+1)
			within(t, "mean", mean, 10*float64(d), 4*wide/math.Sqrt(n))
			within(t, "sd", sd/wide, 1, 4/math.Sqrt(n))
		}
		within(t, "correlation", stat.Correlation(column(r, 0), column(r, 1), nil), 0.8, 0.05)
	}
}

// A target may end: here an exponential that is nothing below 2.
func TestBounded(t *testing.T) {
	r, err := sampler.Run(func(x []float64) float64 {
		if x[0] < 2 {
			return math.Inf(-1)
		}
		return -(x[0] - 2) / 3
	}, sampler.Options{Start: []float64{4}, Scale: []float64{1}, Keep: 10000, Thin: 5, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	mean, sd := stat.MeanStdDev(column(r, 0), nil)
	by := 3 / math.Sqrt(r.Effective[0])
	within(t, "mean", mean, 5, 4*by)
	within(t, "sd", sd, 3, 8*by)
	for _, x := range column(r, 0) {
		if x < 2 {
			t.Fatalf("drew %g, where nothing can be", x)
		}
	}
}

func TestSameSeedSameDraws(t *testing.T) {
	o := sampler.Options{Start: ones(3, 0), Scale: ones(3, 1), Burn: 200, Keep: 50, Thin: 3, Seed: 7}
	run := func(o sampler.Options) sampler.Result {
		r, err := sampler.Run(normal, o)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	once := run(o)
	if diff := cmp.Diff(once, run(o)); diff != "" {
		t.Errorf("the same seed drew otherwise:\n%s", diff)
	}
	o.Seed++
	if cmp.Equal(once.Chains, run(o).Chains) {
		t.Error("another seed drew the same")
	}
}

// Chains that never meet are told by R-hat: two hills with nothing between.
func TestChainsApart(t *testing.T) {
	r, err := sampler.Run(func(x []float64) float64 {
		return -math.Pow(math.Abs(x[0])-50, 2) / 2
	}, sampler.Options{Start: []float64{0}, Scale: []float64{60}, Chains: 8, Burn: 30, Keep: 500, Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	sides := map[bool]int{}
	for _, c := range r.Chains {
		sides[c[len(c)-1][0] > 0]++
	}
	if len(sides) != 2 || r.WorstRHat() < 1.5 || r.LeastEffective() > 50 {
		t.Errorf("chains end on these sides: %v; R-hat is %.3f, effective %.0f", sides, r.WorstRHat(),
			r.LeastEffective())
	}
}

func TestRefused(t *testing.T) {
	nowhere := func([]float64) float64 { return math.Inf(-1) }
	nan := func([]float64) float64 { return math.NaN() }
	one := []float64{1}
	for _, row := range []struct {
		why    string
		target sampler.Target
		o      sampler.Options
		start  bool
	}{
		{"nothing is possible anywhere", nowhere, sampler.Options{Start: one, Scale: one}, true},
		{"no number is not possible either", nan, sampler.Options{Start: one, Scale: one}, true},
		{"no dimension", normal, sampler.Options{}, false},
		{"a scale is missing", normal, sampler.Options{Start: ones(2, 1), Scale: one}, false},
		{"a width of nothing", normal, sampler.Options{Start: one, Scale: ones(1, 0)}, false},
		{"less than no draws", normal, sampler.Options{Start: one, Scale: one, Keep: -1}, false},
	} {
		r, err := sampler.Run(row.target, row.o)
		if err == nil || errors.Is(err, sampler.ErrStart) != row.start || r.Chains != nil {
			t.Errorf("%s: error %v, %d chains", row.why, err, len(r.Chains))
		}
	}
}
