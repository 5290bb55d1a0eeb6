package sampler

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// A Result is what the chains drew and what it is worth.
type Result struct {
	Chains   [][][]float64 // chain, draw, dimension
	Accepted float64       // share of the steps that were taken
	// RHat is, for each dimension, how much wider all chains together are than
	// each half of one: 1 where they agree (split R-hat, Gelman et al. 2013).
	RHat []float64
	// Effective is how many independent draws would tell the mean of each
	// dimension as well.
	Effective []float64
}

// All gives the draws in turn: the first of each chain, the second of each.
func (r Result) All() [][]float64 {
	var out [][]float64
	for i := range r.Chains[0] {
		for _, c := range r.Chains {
			out = append(out, c[i])
		}
	}
	return out
}

// WorstRHat is the greatest of RHat.
func (r Result) WorstRHat() float64 { return slices.Max(r.RHat) }

// LeastEffective is the least of Effective.
func (r Result) LeastEffective() float64 { return slices.Min(r.Effective) }

func (r Result) judge(dims int) (rhat, effective []float64) {
	rhat, effective = make([]float64, dims), make([]float64, dims)
	for d := range dims {
		var halves [][]float64
		for _, c := range r.Chains {
			column := make([]float64, len(c))
			for i, draw := range c {
				column[i] = draw[d]
			}
			half := len(column) / 2
			halves = append(halves, column[:half], column[len(column)-half:])
		}
		rhat[d], effective[d] = agreement(halves)
	}
	return rhat, effective
}

// agreement gives split R-hat and the effective sample size of equally long
// parts of chains: autocorrelations summed in pairs, which must fall and stay
// above 0 (Geyer 1992), the variance between the parts counted in.
func agreement(parts [][]float64) (rhat, effective float64) {
	n := float64(len(parts[0]))
	if n < 2 {
		return math.Inf(1), 1
	}
	within := 0.0
	means := make([]float64, len(parts))
	centred := make([][]float64, len(parts))
	for i, p := range parts {
		mean, variance := stat.MeanVariance(p, nil)
		means[i] = mean
		within += variance / float64(len(parts))
		for _, x := range p {
			centred[i] = append(centred[i], x-mean)
		}
	}
	whole := within*(n-1)/n + stat.Variance(means, nil)
	if !(within > 0) {
		return math.Inf(1), 1
	}
	correlation := func(lag int) float64 {
		sum := 0.0
		for _, p := range centred {
			for i := lag; i < len(p); i++ {
				sum += p[i] * p[i-lag]
			}
		}
		return 1 - (within-sum/(n*float64(len(parts))))/whole
	}
	draws := n * float64(len(parts))
	time, last := -1.0, math.Inf(1)
	for lag := 0; lag+1 < len(parts[0]); lag += 2 {
		pair := min(correlation(lag)+correlation(lag+1), last)
		if !(pair > 0) {
			break
		}
		time += 2 * pair
		last = pair
	}
	return math.Sqrt(whole / within), draws / max(time, 1/math.Log10(max(draws, 10)))
}
