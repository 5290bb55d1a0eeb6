package incubation

import "math"

// binWidth is the step in which a spread and a grid keep temperatures, K. A
// bin knows its weight and where in the bin that lies, so that neither a mean
// nor the median of a steady record is rounded.
const binWidth = 0.1

// A spread is how a member's development in the TSP lies over temperature. It
// grows to the range it needs: a steady incubator takes a dozen bins. float32
// halves it, and costs a median a millionth of a kelvin.
type spread struct {
	base int32 // number of bins[0]
	bins []bin[float32]
}

// A bin is development at about one temperature: its weight, and its moment
// about the lower edge of the bin, in bin widths.
type bin[F float32 | float64] struct{ weight, moment F }

// spareBins are added where a spread must grow.
const spareBins = 3

// binOf gives the bin of a temperature and where in the bin it lies, 0 to 1.
func binOf(celsius float64) (number int, within float64) {
	x := celsius * (1 / binWidth)
	floor := math.Floor(x)
	return int(floor), x - floor
}

func (s *spread) add(celsius, weight float64) {
	number, within := binOf(celsius)
	at := number - int(s.base)
	if uint(at) >= uint(len(s.bins)) {
		s.grow(number)
		at = number - int(s.base)
	}
	b := &s.bins[at]
	b.weight += float32(weight)
	b.moment += float32(weight * within)
}

func (s *spread) grow(number int) {
	low, high := number-spareBins, number+1+spareBins
	if len(s.bins) > 0 {
		end := int(s.base) + len(s.bins)
		if number >= int(s.base) {
			low = int(s.base)
		}
		if number < end {
			high = end
		}
	}
	grown := make([]bin[float32], high-low)
	if len(s.bins) > 0 {
		copy(grown[int(s.base)-low:], s.bins)
	}
	s.base, s.bins = int32(low), grown
}

// gridBins reach from 0 to 60 °C, above all that a profile of a living thing
// lets develop. What is warmer counts in the last bin.
const gridBins = 600

// A grid is room to add what is to come to a spread, for one member at a time.
type grid struct {
	bins      [gridBins]bin[float64]
	low, high int // bins in use, high not included
	total     float64
}

func (g *grid) load(s spread) {
	clear(g.bins[g.low:g.high])
	g.low, g.high, g.total = 0, 0, 0
	for i, b := range s.bins {
		if b.weight > 0 {
			g.put(int(s.base)+i, float64(b.weight), float64(b.moment))
		}
	}
}

func (g *grid) add(celsius, weight float64) {
	number, within := binOf(celsius)
	g.put(number, weight, weight*within)
}

func (g *grid) put(number int, weight, moment float64) {
	number = min(max(number, 0), gridBins-1)
	if g.low == g.high {
		g.low, g.high = number, number+1
	}
	g.low, g.high = min(g.low, number), max(g.high, number+1)
	g.bins[number].weight += weight
	g.bins[number].moment += moment
	g.total += weight
}

// at is the mean temperature of what lies in a bin that is not empty.
func (g *grid) at(number int) float64 {
	b := &g.bins[number]
	return (float64(number) + b.moment/b.weight) * binWidth
}

// solid is how far apart the temperatures of neighbouring bins may be for the
// egg to have passed through what lies between, K: a swing of eight degrees a
// day makes steps of 0.35 K from block to block.
const solid = 0.5

// median is the temperature below which half of the weight lies; 0 when there
// is no weight. Half of each bin's weight lies below its temperature. Between
// bins that are near to each other the weight is taken to lie evenly; between
// others, as of an egg that was moved, nowhere.
func (g *grid) median() float64 {
	half, below := g.total/2, 0.0
	last, lastMiddle := 0.0, -1.0
	for number := g.low; number < g.high; number++ {
		w := g.bins[number].weight
		if w <= 0 {
			continue
		}
		at, middle := g.at(number), below+w/2
		if middle >= half {
			switch {
			case lastMiddle < 0:
				return at
			case at-last <= solid:
				return last + (at-last)*(half-lastMiddle)/(middle-lastMiddle)
			case half <= below:
				return last
			}
			return at
		}
		below += w
		last, lastMiddle = at, middle
	}
	return last
}

// chance is the mean of the member's chances over the grid.
func (g *grid) chance(m *Member) float64 {
	sum := 0.0
	for number := g.low; number < g.high; number++ {
		if w := g.bins[number].weight; w > 0 {
			sum += w * m.Chance(g.at(number))
		}
	}
	if g.total == 0 {
		return 0
	}
	return sum / g.total
}
