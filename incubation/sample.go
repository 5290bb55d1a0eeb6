package incubation

import (
	"math"
	"slices"
)

// lowPoint and highPoint are where every interval begins and ends.
const (
	lowPoint  = 0.05
	highPoint = 0.95
)

// A sample is one value of each member, smallest first.
type sample []float64

// sampleOf sorts values, which it keeps.
func sampleOf(values []float64) sample {
	slices.Sort(values)
	return values
}

// at gives the value that a share p of the sample does not exceed: one of the
// values, so that infinities stay where they are.
func (s sample) at(p float64) float64 {
	i := int(math.Ceil(p*float64(len(s)))) - 1
	return s[min(max(i, 0), len(s)-1)]
}

// above is the part of the sample over x.
func (s sample) above(x float64) sample {
	i, _ := slices.BinarySearch(s, math.Nextafter(x, math.Inf(1)))
	return s[i:]
}

func average(values []float64) float64 {
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
