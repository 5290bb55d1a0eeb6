package incubation

import "math"

// binWidth is the step in which a spread and a grid keep temperatures, K. A
// weight is shared by its two neighbouring bins, so that their mean is its
// temperature; the median is off by a tenth of the step at most.
const binWidth = 0.05

// A spread is how a member's development in the TSP lies over temperature. It
// grows to the range it needs: a steady incubator takes a dozen bins. float32
// halves it, and costs a median a millionth of a kelvin.
type spread struct {
	base  int32 // bin of weights[0]
	share []float32
}

// spareBins are added where a spread must grow.
const spareBins = 6

func (s *spread) add(celsius, weight float64) {
	bin, upper := split(celsius)
	at := bin - int(s.base)
	if at < 0 || at+1 >= len(s.share) {
		s.grow(bin)
		at = bin - int(s.base)
	}
	s.share[at] += float32(weight * (1 - upper))
	s.share[at+1] += float32(weight * upper)
}

// split gives the lower of the two bins that share a temperature, and the
// share of the upper one.
func split(celsius float64) (bin int, upper float64) {
	x := celsius / binWidth
	floor := math.Floor(x)
	return int(floor), x - floor
}

func (s *spread) grow(bin int) {
	low, high := bin, bin+2
	if len(s.share) > 0 {
		low = min(low, int(s.base))
		high = max(high, int(s.base)+len(s.share))
	}
	if low == bin {
		low -= spareBins / 2
	}
	if high == bin+2 {
		high += spareBins / 2
	}
	grown := make([]float32, high-low)
	if len(s.share) > 0 {
		copy(grown[int(s.base)-low:], s.share)
	}
	s.base, s.share = int32(low), grown
}

// gridBins reach from 0 to 60 °C: above every temperature at which a profile
// lets anything develop.
const gridBins = 60 / 0.05

// A grid is room to add what is to come to a spread, for one member at a time.
type grid struct {
	weights   [gridBins + 2]float64
	low, high int // bins in use, high not included
	total     float64
}

func (g *grid) load(s spread) {
	clear(g.weights[g.low:g.high])
	g.low, g.high, g.total = 0, 0, 0
	if len(s.share) == 0 {
		return
	}
	g.use(int(s.base), int(s.base)+len(s.share))
	for i, share := range s.share {
		if bin := int(s.base) + i; bin >= g.low && bin < g.high {
			g.weights[bin] = float64(share)
			g.total += float64(share)
		}
	}
}

func (g *grid) use(low, high int) {
	low, high = max(low, 0), min(high, len(g.weights))
	if g.low == g.high {
		g.low, g.high = low, high
		return
	}
	g.low, g.high = min(g.low, low), max(g.high, high)
}

func (g *grid) add(celsius, weight float64) {
	bin, upper := split(min(max(celsius, 0), 60))
	g.use(bin, bin+2)
	g.weights[bin] += weight * (1 - upper)
	g.weights[bin+1] += weight * upper
	g.total += weight
}

// median is the temperature below which half of the weight lies, each bin's
// weight spread over its width; 0 when there is no weight.
func (g *grid) median() float64 {
	half, below := g.total/2, 0.0
	for bin := g.low; bin < g.high; bin++ {
		w := g.weights[bin]
		if w > 0 && below+w >= half {
			return (float64(bin) - 0.5 + (half-below)/w) * binWidth
		}
		below += w
	}
	return 0
}

// chance is the mean of the member's chances over the grid.
func (g *grid) chance(m *Member) float64 {
	sum, total := 0.0, 0.0
	for bin := g.low; bin < g.high; bin++ {
		if w := g.weights[bin]; w > 0 {
			sum += w * m.Chance(float64(bin)*binWidth)
			total += w
		}
	}
	if total == 0 {
		return 0
	}
	return sum / total
}
