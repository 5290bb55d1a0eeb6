package thermal

import (
	"math"
	"time"
)

// An Approach is an exponential way towards a temperature, as of a cabinet
// whose heat and losses come to balance.
type Approach struct {
	Toward float64 // °C
	// Far is how far it may go: Toward by the least bend that the points allow.
	Far float64
	Tau time.Duration // in which two thirds of the rest are gone
	// SD is how sure Tau is, one standard deviation of its logarithm.
	SD float64

	slow float64 // Tau of the way to Far, minutes
}

// bends are the stretches of which a bend is looked for, minutes: the longest
// that is all one way tells most.
var bends = [...]float64{36, 24, 16, 10, 7}

// Approach gives the exponential that the points are on. False: they do not
// show that their way is bent so. Each half of a stretch must go the same way,
// the later one slower, beyond what chance does.
func (w *Window) Approach() (Approach, bool) {
	if !w.curved {
		w.bend, w.bent = bendOf(w.points)
		w.curved = true
	}
	return w.bend, w.bent
}

func bendOf(points []Point) (Approach, bool) {
	if len(points) == 0 {
		return Approach{}, false
	}
	whole := minutes(points[0].At, points[len(points)-1].At)
	for _, length := range bends {
		if length > whole+1e-9 {
			continue
		}
		if a, ok := approachOf(between(points, length, 0)); ok {
			return a, true
		}
	}
	return Approach{}, false
}

// approachOf fits one to points that cover their stretch evenly. The slopes of
// the halves of an exponential, looked at in the same way, have the ratio
// exp(-h/tau), h being half the stretch: that gives tau, and a straight line
// through the points over exp(-t/tau) gives what they approach.
func approachOf(points []Point) (Approach, bool) {
	if len(points) < 2*fewest {
		return Approach{}, false
	}
	half := minutes(points[0].At, points[len(points)-1].At) / 2
	early, okEarly := lineOf(between(points, 2*half, half))
	late, okLate := lineOf(between(points, half, 0))
	if !okEarly || !okLate {
		return Approach{}, false
	}
	up := early.slope > 0
	if !up {
		early, late = early.mirrored(), late.mirrored()
	}
	if late.low <= 0 || early.low <= late.high {
		return Approach{}, false
	}
	fit := func(ratio float64) (tau, toward float64) {
		tau = half / math.Log(ratio)
		return tau, towards(points, tau)
	}
	tau, toward := fit(early.slope / late.slope)
	slowest, far := fit(early.low / late.high)
	if !finite(toward) || !finite(far) {
		return Approach{}, false
	}
	if up {
		far = max(far, toward)
	} else {
		far = min(far, toward)
	}
	return Approach{
		Toward: toward, Far: far, Tau: duration(tau), SD: math.Log(slowest/tau) / sure, slow: slowest,
	}, true
}

// halfPoints bounds the points that the slope of a half is of: a bend is looked
// for in five stretches, at each new point of a place that leaves its swing.
const halfPoints = 24

func lineOf(points []Point) (line, bool) {
	x, y := split(thinned(points, halfPoints))
	return theilSen(x, y)
}

// towards is what points on an exponential with a known tau, in minutes,
// approach.
func towards(points []Point, tau float64) float64 {
	x, y := split(points)
	for i := range x {
		x[i] = math.Exp(-x[i] / tau) // 1 at the last point
	}
	l, ok := theilSen(x, y)
	if !ok {
		return math.NaN()
	}
	return l.at
}
