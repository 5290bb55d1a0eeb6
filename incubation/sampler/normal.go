package sampler

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distmv"
)

// Normal gives the normal distribution with the mean and covariance of draws,
// rows of one length, as a target; and the sd of each of their numbers. It
// wants more draws than numbers, and none of these to follow from the others.
func Normal(draws [][]float64) (Target, []float64, error) {
	if len(draws) == 0 || len(draws) <= len(draws[0])+1 {
		return nil, nil, fmt.Errorf("fit a normal distribution: %d draws are too few", len(draws))
	}
	dims := len(draws[0])
	all := mat.NewDense(len(draws), dims, nil)
	mean := make([]float64, dims)
	for i, d := range draws {
		all.SetRow(i, d)
		for k, x := range d {
			mean[k] += x / float64(len(draws))
		}
	}
	var sigma mat.SymDense
	stat.CovarianceMatrix(&sigma, all, nil)
	sds := make([]float64, dims)
	for k := range sds {
		sds[k] = math.Sqrt(sigma.At(k, k))
	}
	normal, ok := distmv.NewNormal(mean, &sigma, nil)
	if !ok {
		return nil, nil, fmt.Errorf("fit a normal distribution: the draws' numbers follow from each other")
	}
	return normal.LogProb, sds, nil
}
