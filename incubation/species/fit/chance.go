package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// logNormal is the logarithm of a normal density but for a constant.
func logNormal(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	return -z*z/2 - math.Log(sd)
}

// column is one number of every draw.
func column(draws [][]float64, k int) []float64 {
	out := make([]float64, len(draws))
	for i, d := range draws {
		out[i] = d[k]
	}
	return out
}

// quantile is a point of values, which stay as they are.
func quantile(values []float64, p float64) float64 {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return stat.Quantile(p, stat.LinInterp, sorted, nil)
}

// A clutched is the distribution of males among n eggs of which siblings go
// together: beta-binomial.
type clutched struct {
	n    int
	a, b float64 // of the beta distribution; 0 where it is binomial
	p    float64
}

// newClutched is for eggs with a chance p each, of females that left m eggs
// each among them, the correlation of what decides sex being rho. Two siblings'
// sexes correlate by (2/π)·asin(rho) where p is one half (Sheppard 1899), less
// elsewhere; that of two eggs at random is (m−1)/(n−1) times as much.
func newClutched(n int, p, rho, m float64) clutched {
	p = min(max(p, 1e-9), 1-1e-9)
	c := clutched{n: n, p: p}
	if n < 2 || rho <= 0 {
		return c
	}
	r := 2 / math.Pi * math.Asin(rho) * min((m-1)/float64(n-1), 1)
	c.a, c.b = p*(1/r-1), (1-p)*(1/r-1)
	return c
}

// eachTo calls do with the chances of 0 to most males.
func (c clutched) eachTo(most int, do func(k int, p float64)) {
	n := float64(c.n)
	if c.a == 0 {
		odds := c.p / (1 - c.p)
		p := math.Exp(n * math.Log1p(-c.p))
		for k := 0; k <= most; k++ {
			do(k, p)
			p *= odds * float64(c.n-k) / float64(k+1)
		}
		return
	}
	p := math.Exp(logGamma(n+c.b) - logGamma(c.b) + logGamma(c.a+c.b) - logGamma(n+c.a+c.b))
	for k := 0; k <= most; k++ {
		do(k, p)
		x := float64(k)
		p *= (n - x) * (x + c.a) / ((x + 1) * (n - x - 1 + c.b))
	}
}

// log is the logarithm of the chance of k males.
func (c clutched) log(k int) float64 {
	n, x := float64(c.n), float64(k)
	choose := logGamma(n+1) - logGamma(x+1) - logGamma(n-x+1)
	if c.a == 0 {
		return choose + x*math.Log(c.p) + (n-x)*math.Log1p(-c.p)
	}
	return choose + logGamma(x+c.a) - logGamma(c.a) + logGamma(n-x+c.b) - logGamma(c.b) +
		logGamma(c.a+c.b) - logGamma(n+c.a+c.b)
}

func logGamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}
