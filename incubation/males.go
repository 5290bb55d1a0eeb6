package incubation

import "math"

// An EggQuestion is one egg of a clutch and what is asked of it.
type EggQuestion struct {
	Track    *Track
	Question Question
}

// Males gives the chance of 0, 1, … n males among n eggs of one clutch, whose
// tracks are of one ensemble. Siblings go together twice over: a member holds
// for all of them, wherever they lie, and so does what their parents gave
// them, which is integrated over. An egg with neither record nor plan counts
// as even.
func Males(eggs []EggQuestion) []float64 {
	answers := make([]Answer, len(eggs))
	for k, e := range eggs {
		answers[k] = Answer{Chances: e.Track.Chances(e.Question), ensemble: e.Track.ensemble}
	}
	return MalesOf(answers)
}

// MalesOf is Males for eggs that have been asked about already.
func MalesOf(answers []Answer) []float64 {
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
		addMales(out, one, members[i].Clutch)
	}
	for k := range out {
		out[k] /= float64(len(members))
	}
	return out
}

// addMales adds one member's distribution of males to sum.
func addMales(sum, chances []float64, correlation float64) {
	given := make([][]float64, len(chances))
	for k, p := range chances {
		given[k] = givenClutch(p, correlation)
	}
	for node, weight := range clutchWeights {
		count := make([]float64, len(chances)+1)
		count[0] = 1
		for k := range chances {
			p := given[k][node]
			for n := k + 1; n > 0; n-- {
				count[n] += (count[n-1] - count[n]) * p
			}
			count[0] *= 1 - p
		}
		for n, p := range count {
			sum[n] += weight * p
		}
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
