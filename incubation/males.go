package incubation

import "math"

// Males gives the chance of 0, 1, … n males among n eggs of one clutch, whose
// answers are of one ensemble. Siblings go together twice over: a member holds
// for all of them, wherever they lie, and so does what their parents gave
// them, which is integrated over. An egg with neither record nor plan counts
// as even.
func Males(answers []Answer) []float64 {
	out := make([]float64, len(answers)+1)
	if len(answers) == 0 {
		out[0] = 1
		return out
	}
	members := answers[0].ensemble.Members
	one := make([]float64, len(answers))
	for i := range members {
		for k, a := range answers {
			one[k] = 0.5
			if i < len(a.Chances) {
				one[k] = a.Chances[i]
			}
		}
		leanings(members[i].Clutch, one, func(weight float64, given []float64) {
			for n, p := range CountMales(given) {
				out[n] += weight * p
			}
		})
	}
	for k := range out {
		out[k] /= float64(len(members))
	}
	return out
}

// CountMales gives the chance of 0, 1, … n males among n eggs that have
// nothing more in common than these chances.
func CountMales(chances []float64) []float64 {
	count := make([]float64, len(chances)+1)
	count[0] = 1
	for k, p := range chances {
		for n := k + 1; n > 0; n-- {
			count[n] += (count[n-1] - count[n]) * p
		}
		count[0] *= 1 - p
	}
	return count
}

// Siblings averages f over what the parents of a clutch gave its eggs: f is
// handed the eggs' chances of a male in a clutch of one leaning, whose mean
// over the leanings is chances. A chance that is no number is handed on.
func Siblings(correlation float64, chances []float64, f func(given []float64) float64) float64 {
	sum := 0.0
	leanings(correlation, chances, func(weight float64, given []float64) { sum += weight * f(given) })
	return sum
}

// leanings goes through the leanings a clutch may have, each with its weight
// and the eggs' chances in it; the next overwrites them.
func leanings(correlation float64, chances []float64, visit func(weight float64, given []float64)) {
	all := make([][]float64, len(chances))
	for k, p := range chances {
		all[k] = givenClutch(p, correlation)
	}
	given := make([]float64, len(chances))
	for node, weight := range clutchWeights {
		for k := range given {
			given[k] = all[k][node]
		}
		visit(weight, given)
	}
}

// clutchNodes and clutchWeights integrate over a standard normal number: the
// Gauss-Hermite rule of seven points, exact for polynomials up to degree 13.
var (
	clutchNodes = [...]float64{
		-3.7504397177257423, -2.3667594107345415, -1.1544053947399682, 0,
		1.1544053947399682, 2.3667594107345415, 3.7504397177257423,
	}
	clutchWeights = [...]float64{
		0.0005482688559722, 0.0307571239675865, 0.2401231786050127, 0.4571428571428571,
		0.2401231786050127, 0.0307571239675865, 0.0005482688559722,
	}
)

// givenClutch gives an egg's chance of being male in a clutch whose leaning is
// each of the nodes, such that their mean is p. What decides sex is taken as
// normal, a share of its variance common to siblings: unlike a shift of the
// logit this leaves the mean alone. What the nodes leave of an error is put
// right.
func givenClutch(p, correlation float64) []float64 {
	out := make([]float64, len(clutchNodes))
	limit := quantileNormal(p)
	mean, room := 0.0, 0.0
	for k, z := range clutchNodes {
		q := cumulative((limit + math.Sqrt(correlation)*z) / math.Sqrt(1-correlation))
		out[k] = q
		mean += clutchWeights[k] * q
		room += clutchWeights[k] * q * (1 - q)
	}
	if room > 0 {
		for k, q := range out {
			out[k] = min(max(q+(p-mean)*q*(1-q)/room, 0), 1)
		}
	}
	return out
}
