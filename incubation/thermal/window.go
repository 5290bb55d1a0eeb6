package thermal

import (
	"time"
)

const (
	// Spacing is the least time between two points that count: a slope needs
	// no more of them, and a tick costs less.
	Spacing = 20 * time.Second
	// span is how long a point is kept.
	span = 40 * time.Minute
	// recent is the stretch that the present slope is of; of a probe that
	// speaks seldom, the last four points within reach of it. Judgement: as
	// long as it takes to tell 0.05 K a minute from a chip's noise of 0.03 K.
	recent = 4.0
	reach  = 25 * time.Minute
)

// A Window keeps the last points of a place, for its slope. Its zero value is
// ready.
type Window struct {
	points []Point
	// The present slope, worked out when it is first asked for: of most places
	// nobody asks.
	trend  Trend
	known  bool
	worked bool
	bend   Approach // and what it bends towards
	bent   bool
	curved bool
}

// A Trend is how fast a temperature changes.
type Trend struct {
	PerMinute float64 // K
	Low, High float64 // its 90 % interval, from the points' scatter
	Celsius   float64 // at the last point, as the line through all has it
	Minutes   float64 // from the first of its points to the last
}

// Add takes a point. One that comes too soon after the last, or is older or no
// number, is dropped, and false given.
func (w *Window) Add(p Point) bool {
	n := len(w.points)
	if !finite(p.Celsius) || n > 0 && p.At.Sub(w.points[n-1].At) < Spacing {
		return false
	}
	w.points = append(w.points, p)
	old := 0
	for p.At.Sub(w.points[old].At) > span {
		old++
	}
	if old > 0 {
		w.points = append(w.points[:0], w.points[old:]...)
	}
	w.worked, w.curved = false, false
	return true
}

// Clear forgets all points, as when other probes speak from now on.
func (w *Window) Clear() { *w = Window{points: w.points[:0]} }

// Shift moves the points, when the clock is set.
func (w *Window) Shift(d time.Duration) {
	for i := range w.points {
		w.points[i].At = w.points[i].At.Add(d)
	}
}

// latest are the points that the present slope is of.
func (w *Window) latest() []Point {
	near := between(w.points, recent, 0)
	if n := len(w.points); len(near) < fewest && n >= fewest &&
		w.points[n-1].At.Sub(w.points[n-fewest].At) <= reach {
		return w.points[n-fewest:]
	}
	return near
}

// Trend gives the present slope. False: the points are too few.
func (w *Window) Trend() (Trend, bool) {
	if !w.worked {
		w.trend, w.known = trendOf(w.latest())
		w.worked = true
	}
	return w.trend, w.known
}

func trendOf(points []Point) (Trend, bool) {
	x, y := split(points)
	l, ok := theilSen(x, y)
	t := Trend{PerMinute: l.slope, Low: l.low, High: l.high, Celsius: l.at}
	if ok {
		t.Minutes = -x[0]
	}
	return t, ok
}

// Fell is the most that the temperature fell by between two points that lie at
// most within apart, in all that is kept, and when it had.
func (w *Window) Fell(within time.Duration) (kelvin float64, at time.Time) {
	first := 0
	for i, p := range w.points {
		for p.At.Sub(w.points[first].At) > within {
			first++
		}
		for _, before := range w.points[first:i] {
			if drop := before.Celsius - p.Celsius; drop > kelvin {
				kelvin, at = drop, p.At
			}
		}
	}
	return kelvin, at
}

// Climbed is how far the last point is above the lowest since the temperature
// last fell by more than slack, K: how far it has climbed in one go. At most
// all that is kept is looked at.
func (w *Window) Climbed(slack float64) float64 {
	n := len(w.points)
	if n == 0 {
		return 0
	}
	low := w.points[n-1].Celsius
	for i := n - 2; i >= 0; i-- {
		if w.points[i].Celsius > low+slack {
			break
		}
		low = min(low, w.points[i].Celsius)
	}
	return w.points[n-1].Celsius - low
}
