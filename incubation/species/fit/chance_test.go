package fit

import (
	"math"
	"testing"
)

// The males among eggs of which siblings go together: all chances make one,
// their mean is that of single eggs, their variance (1 + (m−1)·ICC) times that
// of independent eggs, ICC = (2/π)·asin(rho).
func TestClutched(t *testing.T) {
	for _, row := range []struct {
		why        string
		n          int
		p, rho, m  float64
		wider      float64
		varianceBy float64
	}{
		{"independent", 40, 0.3, 0, 4, 1, 1e-9},
		{"a clutch of two", 2, 0.5, 0.3, 4, 1 + 0.19397, 1e-4},
		{"four of a female, ICC 0.194", 94, 0.87, 0.3, 4, 1 + 3*0.19397, 1e-4},
		{"the same, and more of them", 219, 0.74, 0.3, 4, 1 + 3*0.19397, 1e-4},
		{"one of each", 50, 0.6, 0.5, 1, 1, 1e-4},
		{"hardly any males", 125, 1e-4, 0.3, 4, 1 + 3*0.19397, 1e-4},
		{"one egg", 1, 0.4, 0.5, 4, 1, 1e-9},
	} {
		c := newClutched(row.n, row.p, row.rho, row.m)
		total, mean, square := 0.0, 0.0, 0.0
		c.eachTo(row.n, func(k int, p float64) {
			total += p
			mean += float64(k) * p
			square += float64(k*k) * p
			if p > 1e-12 && math.Abs(c.log(k)-math.Log(p)) > 1e-8 {
				t.Errorf("%s: log of %d males is %.12f, its chance %.12g", row.why, k, c.log(k), p)
			}
		})
		n := float64(row.n)
		if math.Abs(total-1) > 1e-9 || math.Abs(mean-n*row.p) > 1e-7*n {
			t.Errorf("%s: chances make %.12f, mean %.9f, want %.9f", row.why, total, mean, n*row.p)
		}
		got := (square - mean*mean) / (n * row.p * (1 - row.p))
		if math.Abs(got-row.wider) > row.varianceBy*row.wider {
			t.Errorf("%s: variance is %.6f times that of independent eggs, want %.6f", row.why, got, row.wider)
		}
	}
}

// What "5 %" of 10 to 100 eggs can be: 1 of 19 to 22, 2 of 37 to 44, and so on;
// 18 eggs give 6 % or nothing.
func TestTellables(t *testing.T) {
	told := tellables(Share{Percent: 5, Eggs: Eggs{Least: 10, Most: 100}})
	sum := 0.0
	for _, row := range told {
		sum += row.weight
		for k := row.least; k <= row.most; k++ {
			if share := 100 * float64(k) / float64(row.eggs); share < 4.5 || share >= 5.5 {
				t.Errorf("%d of %d is %.2f %%", k, row.eggs, share)
			}
		}
	}
	if first := told[0]; first.eggs != 19 || first.least != 1 || first.most != 1 {
		t.Errorf("the fewest eggs that 5 %% can be of: %+v", first)
	}
	if !(sum > 0.3 && sum < 1) {
		t.Errorf("the numbers it can be of have %.2f of the weight", sum)
	}
}

// Eggs that were moved: what each finding makes of a member.
func TestSwitches(t *testing.T) {
	d := Leopard()
	x := []float64{17.5, math.Log(54), 33.8, math.Log(4.4), 0.22, 0.5}
	sex := []float64{30.3, math.Log(0.5), 33, math.Log(0.4), math.Log(0.1), 0.3, 0}
	for _, row := range []struct {
		why        string
		start, end float64
	}{
		{"it begins before day 14 at 26 °C by far", 0.03, 0.5},
		{"it ends long after day 20 at 32 °C", 0.22, 0.8},
		{"it is over before day 15 at 32 °C", 0.1, 0.25},
	} {
		for _, rule := range rules {
			b := growthBlock{d, rule}
			usual := b.target(x, curve(sex, 0))
			y := append([]float64(nil), x...)
			y[tspStart], y[tspEnd] = row.start, row.end
			if got := b.target(y, curve(sex, 0)); got > usual-2 {
				t.Errorf("%s, summary %d: log-likelihood %.2f, the usual %.2f", row.why, rule, got, usual)
			}
		}
	}
}
