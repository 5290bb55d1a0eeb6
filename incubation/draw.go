package incubation

import (
	"hash/fnv"
	"math"
	"math/bits"
	"math/rand/v2"
)

// A deck deals standard normal numbers in even strata.
type deck struct {
	rng *rand.Rand
	n   int
}

func (d *deck) deal() []float64 {
	out := make([]float64, d.n)
	for i, k := range d.rng.Perm(d.n) {
		out[i] = stratum(k, d.n)
	}
	return out
}

// stratum is the middle of the k-th of n equal parts of the standard normal
// distribution.
func stratum(k, n int) float64 { return quantileNormal((float64(k) + 0.5) / float64(n)) }

// normals gives each member a standard normal number that belongs to a cause
// outside the ensemble, such as a probe: the same for the same member and
// cause, as good as independent between causes, and in even strata over the
// members that were drawn.
func (e *Ensemble) normals(c cause) []float64 {
	n := e.Drawn
	if n <= 0 {
		n = len(e.Members)
	}
	s := newShuffle(c, n)
	out := make([]float64, len(e.Members))
	for i := range e.Members {
		number := e.Members[i].Number % n
		if number < 0 {
			number += n
		}
		out[i] = stratum(s.place(number), n)
	}
	return out
}

// probe gives each member's error of a probe in units of its sd: as learned
// from what hatched, or drawn.
func (e *Ensemble) probe(id string) []float64 {
	if known := e.Probes[id]; len(known) == len(e.Members) {
		return known
	}
	return e.normals(causeOf("probe", id))
}

// A cause is what a draw outside the ensemble is made for.
type cause uint64

func causeOf(kind, name string) cause {
	h := fnv.New64a()
	h.Write([]byte(kind))
	h.Write([]byte{0})
	h.Write([]byte(name))
	return cause(h.Sum64())
}

// A shuffle is an order of the numbers from 0 to n that can be asked for one
// place at a time: four rounds of a Feistel network over the least even number
// of bits that holds them, gone through again while it leads outside.
type shuffle struct {
	n    int
	half uint // bits of each half
	keys [4]uint64
}

func newShuffle(c cause, n int) shuffle {
	s := shuffle{n: n, half: max(uint(bits.Len(uint(n-1))+1)/2, 1)}
	for i := range s.keys {
		s.keys[i] = mix(uint64(c) + uint64(i))
	}
	return s
}

func (s *shuffle) place(k int) int {
	mask := uint64(1)<<s.half - 1
	x := uint64(k)
	for {
		left, right := x>>s.half, x&mask
		for _, key := range s.keys {
			left, right = right, left^mix(right^key)&mask
		}
		x = left<<s.half | right
		if x < uint64(s.n) {
			return int(x)
		}
	}
}

// mix spreads the bits of x: equal for equal x, else as good as random.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// quantileNormal is the inverse of cumulative.
func quantileNormal(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// cumulative is the standard normal distribution function.
func cumulative(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
