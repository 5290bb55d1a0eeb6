package incubation

// Siblings averages f over what the parents of a clutch gave its eggs: f is
// handed the eggs' chances of a male in a clutch of one leaning, whose mean
// over the leanings is chances. A chance that is no number is handed on.
func Siblings(correlation float64, chances []float64, f func(given []float64) float64) float64 {
	given := make([][]float64, len(chances))
	for k, p := range chances {
		given[k] = givenClutch(p, correlation)
	}
	one := make([]float64, len(chances))
	sum := 0.0
	for node, weight := range clutchWeights {
		for k := range one {
			one[k] = given[k][node]
		}
		sum += weight * f(one)
	}
	return sum
}
