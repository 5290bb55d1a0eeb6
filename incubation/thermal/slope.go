package thermal

import (
	"math"
	"slices"
)

const (
	// fewest points have a slope: of fewer, not even ones that all rise are
	// outside what chance does at the interval below.
	fewest = 4
	// mostPoints bounds the pairs that one slope is the median of.
	mostPoints = 40
	// sure is the width of the interval in standard deviations: 90 %.
	sure = 1.645
)

// A line is a straight one through points (x, y).
type line struct {
	slope float64
	// low and high are the slope's 90 % interval: the ranks of the pairs'
	// slopes that Kendall's S may move by, as Sen gives it. It holds for errors
	// that do not depend on each other, and is as wide as the points scatter.
	low, high float64
	// at is where the line is at x = 0: the median of the points moved along
	// it.
	at float64
}

// theilSen puts a line through points: the median of the slopes of all pairs.
// False: they are too few, or all at one x.
func theilSen(x, y []float64) (line, bool) { return theilSenWithin(x, y, sure) }

// theilSenWithin is theilSen with an interval so many standard deviations wide.
func theilSenWithin(x, y []float64, z float64) (line, bool) {
	x, y = thinned(x, mostPoints), thinned(y, mostPoints)
	n := len(x)
	if n < fewest {
		return line{}, false
	}
	slopes := make([]float64, 0, n*(n-1)/2)
	for i := range n {
		for j := range i {
			if dx := x[i] - x[j]; dx != 0 {
				slopes = append(slopes, (y[i]-y[j])/dx)
			}
		}
	}
	if len(slopes) < fewest {
		return line{}, false
	}
	l := line{slope: median(slopes)}
	pairs, size := float64(len(slopes)), float64(n)
	wide := z * math.Sqrt(size*(size-1)*(2*size+5)/18)
	edge := min(max(int((pairs-wide)/2)-1, 0), (len(slopes)-1)/2)
	l.low, l.high = slopes[edge], slopes[len(slopes)-1-edge]
	offs := make([]float64, n)
	for i := range n {
		offs[i] = y[i] - l.slope*x[i]
	}
	l.at = median(offs)
	return l, true
}

// thinned leaves at most so many, evenly taken, first and last among them.
func thinned[T any](all []T, most int) []T {
	n := len(all)
	if n <= most {
		return all
	}
	out := make([]T, most)
	for i := range out {
		out[i] = all[i*(n-1)/(most-1)]
	}
	return out
}

// mirrored is the line of the same points upside down.
func (l line) mirrored() line {
	return line{slope: -l.slope, low: -l.high, high: -l.low, at: -l.at}
}

// split gives the points' minutes after the first, and their temperatures.
func split(points []Point) (x, y []float64) {
	x, y = make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		x[i], y[i] = minutes(points[len(points)-1].At, p.At), p.Celsius
	}
	return x, y
}

// between gives the points from a number of minutes before the last to
// another, the later end not among them unless it is zero.
func between(points []Point, from, to float64) []Point {
	if len(points) == 0 {
		return nil
	}
	end := points[len(points)-1].At
	ago := func(p Point) float64 { return minutes(p.At, end) }
	first := slices.IndexFunc(points, func(p Point) bool { return ago(p) <= from+1e-9 })
	last := len(points)
	for to > 0 && last > first && ago(points[last-1]) < to-1e-9 {
		last--
	}
	return points[first:last]
}
