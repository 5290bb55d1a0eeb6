package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"clutchd/incubation"
)

// An estimate is what `estimate -json` prints.
type estimate struct {
	incubation.Estimate
	Males []float64 `json:"males"`
}

// estimateOf runs the command on a record, and holds what it prints against
// its schema.
func estimateOf(t *testing.T, record []byte, flags ...string) estimate {
	t.Helper()
	file := filepath.Join(t.TempDir(), "record.csv")
	if err := os.WriteFile(file, record, 0o600); err != nil {
		t.Fatal(err)
	}
	args := append(append([]string{"estimate", "-json"}, flags...), file)
	var out, said bytes.Buffer
	if status := Main(context.Background(), args, nil, &out, &said); status != 0 {
		t.Fatalf("clutchd %q: status %d\n%s", args, status, &said)
	}
	if err := checkEstimate("testdata", out.String()); err != nil {
		t.Fatalf("clutchd %q: %v", args, err)
	}
	if bytes.Contains(out.Bytes(), []byte("0001-01-01")) {
		t.Fatalf("clutchd %q prints a time that was never set:\n%s", args, &out)
	}
	var e estimate
	if err := json.Unmarshal(out.Bytes(), &e); err != nil {
		t.Fatal(err)
	}
	return e
}

// hatchlings of eggs kept at one temperature: Viets et al. 1993, table 1, both
// laboratories, and Kratochvíl et al. 2008, table 1, added up by temperature.
// The sums are derived.
var hatchlings = []struct {
	celsius  float64
	n, males int
}{
	{26, 125, 0},
	{28, 97, 0},
	{29, 21, 4},
	{30, 132, 43},
	{31, 46, 38},
	{31.5, 9, 8},
	{32, 94, 82},
	{32.5, 219, 162},
	{33, 5, 4},
}

// A constant record, estimated by the program as it comes, must make the
// published number of males no surprise: it lies in the 95 % predictive
// interval for its n. The program prints the mean of the chance under its
// ensemble and the 5 and 95 % points: a beta distribution of that mean and
// that spread stands for the ensemble, which is an approximation.
func TestPublishedMales(t *testing.T) {
	t.Parallel()
	for _, row := range hatchlings {
		e := estimateOf(t, constant(row.celsius, 60))
		low, high := predictive(e.Sex, row.n)
		t.Logf("%g °C: male %.3f (%.3f to %.3f), %d to %d of %d, published %d",
			row.celsius, e.Sex.MaleProbability, e.Sex.Low, e.Sex.High, low, high, row.n, row.males)
		if row.males < low || row.males > high {
			t.Errorf("%g °C: %d males of %d hatched; the estimate's 95 %% predictive interval is %d to %d",
				row.celsius, row.males, row.n, low, high)
		}
	}
}

// predictive gives the 95 % interval of the number of males of n.
func predictive(s incubation.Sex, n int) (low, high int) {
	const between = 2 * 1.6448536 // 5 % to 95 % of a normal distribution, in sd
	mean, sd := s.MaleProbability, (s.High-s.Low)/between
	strength := mean*(1-mean)/(sd*sd) - 1
	a, b := mean*strength, (1-mean)*strength
	sum, low := 0.0, -1
	for k := 0; k <= n; k++ {
		sum += betaBinomial(k, n, a, b)
		if low < 0 && sum > 0.025 {
			low = k
		}
		if sum >= 0.975 {
			return low, k
		}
	}
	return low, n
}

func betaBinomial(k, n int, a, b float64) float64 {
	lg := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	beta := func(x, y float64) float64 { return lg(x) + lg(y) - lg(x+y) }
	x, m := float64(k), float64(n)
	return math.Exp(lg(m+1) - lg(x+1) - lg(m-x+1) + beta(x+a, m-x+b) - beta(a, b))
}

// The test's own sum: a beta distribution that is nearly a point gives the
// binomial's interval; 95 % of 100 throws of a coin lie in 40 to 60.
func TestPredictiveOfACoin(t *testing.T) {
	low, high := predictive(incubation.Sex{MaleProbability: 0.5, Low: 0.4999, High: 0.5001}, 100)
	if low != 40 || high != 60 {
		t.Errorf("%d to %d, want 40 to 60", low, high)
	}
}

func TestPublishedShares(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		source          string
		celsius         float64
		atLeast, atMost float64
	}{
		{"5 % male at 34 °C (Flores et al. 1994, abstract)", 34, 0.01, 0.20},
		{"only females at 26 °C (Gutzke and Crews 1988, abstract)", 26, 0, 0.05},
		{"mostly males at 32 °C (Gutzke and Crews 1988, abstract)", 32, 0.5, 1},
	} {
		sex := estimateOf(t, constant(row.celsius, 60)).Sex
		if sex.MaleProbability < row.atLeast || sex.MaleProbability > row.atMost {
			t.Errorf("%s: the estimate is %.3f, want %g to %g", row.source, sex.MaleProbability,
				row.atLeast, row.atMost)
		}
	}
}

// The eggs of Wise et al. 2009 hatched after 52 days; that they lay at 28 °C
// is from memory. The window must hold that day, whenever it is asked for.
func TestPublishedHatch(t *testing.T) {
	t.Parallel()
	want := began.AddDate(0, 0, 52)
	for _, days := range []float64{1, 10, 30, 45} {
		h := estimateOf(t, constant(28, days)).Hatch
		if h.Earliest.After(want) || h.Latest.Before(want) {
			t.Errorf("after %g days at 28 °C the window is %s to %s, without day 52, %s", days,
				h.Earliest.Format(time.DateOnly), h.Latest.Format(time.DateOnly), want.Format(time.DateOnly))
		}
	}
}

// The chances of 0 to n males are a distribution, and eggs of one clutch are
// more alike than those of two.
func TestMalesOfAClutch(t *testing.T) {
	t.Parallel()
	for _, n := range []int{1, 2, 3} {
		e := estimateOf(t, constant(30.3, 45), "-eggs", fmt.Sprint(n))
		sum, mean := 0.0, 0.0
		for k, chance := range e.Males {
			sum, mean = sum+chance, mean+float64(k)*chance/float64(n)
		}
		if len(e.Males) != n+1 || math.Abs(sum-1) > 1e-9 {
			t.Errorf("%d eggs have %d chances, of %g in all; want %d, of 1", n, len(e.Males), sum, n+1)
		}
		if n == 2 && e.Males[0]+e.Males[2] <= mean*mean+(1-mean)*(1-mean) {
			t.Errorf("two eggs of a clutch are of one sex with %.3f, no more than two strangers",
				e.Males[0]+e.Males[2])
		}
	}
}
