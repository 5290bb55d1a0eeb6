package fit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"clutchd/incubation/sampler"
)

// A zeroBlock is the developmental zeros of the relatives: each species has
// its own, from a distribution that all geckos share; each study its own
// degree-days; durations lie about straight lines of the rate.
//
// Straight up to its warmest point, which the bend that the growth block knows
// may already slow: where it does, the zero comes out low. The spread takes
// that in.
type zeroBlock struct {
	data    Data
	species []string
}

// Places in a point: the shared mean, spread and error, then the zeros, then
// the logarithms of the degree-days.
const (
	zeroMean = iota
	zeroSpread
	durationError
	firstZero
)

func newZeroBlock(d Data) zeroBlock {
	b := zeroBlock{data: d}
	for _, s := range d.Series {
		if !slices.Contains(b.species, s.Species) {
			b.species = append(b.species, s.Species)
		}
	}
	return b
}

func (b zeroBlock) target(x []float64) float64 {
	p := b.data.Priors
	sum := p["zero_mean"].log(x[zeroMean]) + p["zero_spread"].log(x[zeroSpread]) +
		p["duration_error"].log(x[durationError])
	if math.IsInf(sum, -1) {
		return sum
	}
	zeros := x[firstZero : firstZero+len(b.species)]
	for _, zero := range zeros {
		sum += logNormal(zero, x[zeroMean], x[zeroSpread])
	}
	for k, s := range b.data.Series {
		zero := zeros[slices.Index(b.species, s.Species)]
		degreeDays := x[firstZero+len(b.species)+k]
		for _, point := range s.Points {
			if point.Celsius <= zero {
				return math.Inf(-1)
			}
			line := degreeDays - math.Log(point.Celsius-zero)
			sum += logNormal(math.Log(point.Days), line, x[durationError])
		}
	}
	return sum
}

func (b zeroBlock) options(o Options) sampler.Options {
	start := []float64{16, 2, 0.04}
	scale := []float64{1, 0.5, 0.01}
	for range b.species {
		start, scale = append(start, 16), append(scale, 1)
	}
	for _, s := range b.data.Series {
		first := s.Points[0]
		start = append(start, math.Log(first.Days*(first.Celsius-16)))
		scale = append(scale, 0.1)
	}
	return sampler.Options{
		Start: start, Scale: scale, Chains: o.Chains, Burn: o.Burn, Keep: o.Keep,
		Thin: o.Thin * patience, Seed: o.Seed,
	}
}

// patience is how much longer this block is run: its walk is slow and cheap.
const patience = 4

// Zeros is what the relatives say of the zero of a species that nobody has
// measured.
type Zeros struct {
	Mean, SD float64            // of a new species'
	Species  map[string]float64 // medians, by name
	Result   sampler.Result
}

// FitZeros fits the relatives' developmental zeros.
func FitZeros(d Data, o Options) (Zeros, error) {
	b := newZeroBlock(d)
	r, err := sampler.Run(b.target, b.options(o.filled()))
	if err != nil {
		return Zeros{}, fmt.Errorf("fit zeros: %w", err)
	}
	out := Zeros{Species: map[string]float64{}, Result: r}
	draws := r.All()
	// A new species' is about the mean by the spread: its variance is the
	// variance of the one and the mean square of the other.
	means, spreads := column(draws, zeroMean), column(draws, zeroSpread)
	mean, variance := stat.MeanVariance(means, nil)
	for _, s := range spreads {
		variance += s * s / float64(len(spreads))
	}
	out.Mean, out.SD = mean, math.Sqrt(variance)
	for i, name := range b.species {
		out.Species[name] = quantile(column(draws, firstZero+i), 0.5)
	}
	return out, nil
}
