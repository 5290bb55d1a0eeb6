package incubation

import "math"

// binWidth is the step in which temperatures are put together where a median
// or a mean of chances is wanted, K. A bin knows the mean of what lies in it,
// so that neither a mean nor the median of a steady record is rounded.
const binWidth = 0.1

// binOf gives the bin of a temperature.
func binOf(celsius float64) int { return int(math.Floor(celsius * (1 / binWidth))) }

// gridBins reach from 0 to 60 °C, above all that a profile of a living thing
// lets develop. What is warmer counts in the last bin.
const gridBins = 600

// A grid is how one member's development in the TSP lies over temperature.
type grid struct {
	bins      [gridBins]heap
	low, high int // bins in use, high not included
	total     float64
}

// A heap is development at about one temperature: its weight, and its moment
// about reference.
type heap struct{ weight, moment float64 }

func (g *grid) clear() {
	clear(g.bins[g.low:g.high])
	g.low, g.high, g.total = 0, 0, 0
}

func (g *grid) add(celsius, weight float64) {
	number := min(max(binOf(celsius), 0), gridBins-1)
	switch {
	case g.low == g.high:
		g.low, g.high = number, number+1
	case number < g.low:
		g.low = number
	case number >= g.high:
		g.high = number + 1
	}
	b := &g.bins[number]
	b.weight += weight
	b.moment += weight * (celsius - reference)
	g.total += weight
}

// at is the mean temperature of what lies in a bin that is not empty.
func (g *grid) at(number int) float64 {
	b := &g.bins[number]
	return reference + b.moment/b.weight
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

// medianWith is the median with portions added, which it takes out again.
func (g *grid) medianWith(more []portion) float64 {
	if len(more) == 0 {
		return g.median()
	}
	low, high, total := g.low, g.high, g.total
	var room [8]heap
	kept := room[:0]
	for _, p := range more {
		kept = append(kept, g.bins[min(max(binOf(p.celsius), 0), gridBins-1)])
		g.add(p.celsius, p.weight)
	}
	median := g.median()
	for k := len(more) - 1; k >= 0; k-- {
		g.bins[min(max(binOf(more[k].celsius), 0), gridBins-1)] = kept[k]
	}
	g.low, g.high, g.total = low, high, total
	return median
}

// chances is the sum of the member's chances over the grid, by weight.
func (g *grid) chances(m *Member) float64 {
	sum := 0.0
	for number := g.low; number < g.high; number++ {
		if w := g.bins[number].weight; w > 0 {
			sum += w * m.Chance(g.at(number))
		}
	}
	return sum
}
