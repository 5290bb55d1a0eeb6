package thermal

import (
	"math"
	"time"
)

const (
	// quickest and slowest are the time constants that a place of this trade
	// may have: a tub in the open, a cabinet with walls like a fridge's.
	// Judgement.
	quickest = 8 * time.Minute
	slowest  = 24 * time.Hour
	// unlike is how much the halves of a fall may differ in their time
	// constant, sd of its logarithm, and still be one fall without heat.
	// Judgement: a door or a heater at half power changes it by more.
	unlike = 0.5
	// judgedRoom is what a place cools towards where no probe tells, °C, and
	// roomUnsure what not knowing that adds, sd of the logarithm of the time
	// constant. Judgement: the room is warm because of its cabinets.
	judgedRoom = 22
	roomUnsure = 0.35
	// onceUnsure is how far one fall may be off what the next will be: a
	// cabinet fuller or emptier, its wood warmed through or not. Judgement.
	onceUnsure = 0.15
)

// A sample is a point with the room's temperature then; NaN: nobody measured.
type sample struct {
	Point
	room float64
}

// A fall is what one stretch without heat told: the logarithm of its time
// constant in minutes, and how sure that is.
type fall struct {
	log, sd float64
}

// fitFall fits a stretch of falling temperature. False: it is none of losing
// warmth to the room alone.
func fitFall(s []sample) (fall, bool) {
	if len(s) < 2*fewest {
		return fall{}, false
	}
	if measured(s) {
		return fitAgainst(s, func(p sample) float64 { return p.room })
	}
	points := make([]Point, len(s))
	for i := range s {
		points[i] = s[i].Point
	}
	if a, ok := approachOf(points); ok && a.Tau >= quickest && a.Tau <= slowest &&
		a.Toward > 0 && a.SD < roomUnsure {
		return fall{log: math.Log(a.Tau.Minutes()), sd: math.Hypot(a.SD, onceUnsure)}, true
	}
	room := min(judgedRoom, s[len(s)-1].Celsius-1)
	f, ok := fitAgainst(s, func(sample) float64 { return room })
	f.sd = math.Hypot(f.sd, roomUnsure)
	return f, ok
}

func measured(s []sample) bool {
	for _, p := range s {
		if math.IsNaN(p.room) {
			return false
		}
	}
	return true
}

// fitAgainst fits a fall in a room whose course is known. Losing warmth at a
// rate of (T - room)/tau means that T falls by the integral of T - room over
// tau: a straight line, whatever the room did meanwhile.
func fitAgainst(s []sample, room func(sample) float64) (fall, bool) {
	x, y := make([]float64, len(s)), make([]float64, len(s))
	for i := range s {
		y[i] = s[i].Celsius
		if i == 0 {
			continue
		}
		a, b := s[i-1].Celsius-room(s[i-1]), s[i].Celsius-room(s[i])
		x[i] = x[i-1] + minutes(s[i-1].At, s[i].At)*(a+b)/2
	}
	whole, ok := lossOf(x, y)
	if !ok {
		return fall{}, false
	}
	// The halves of what it lost, not of its time: the end of it tells little.
	half := 0
	for half < len(y)-1 && y[half] > (y[0]+y[len(y)-1])/2 {
		half++
	}
	first, okFirst := lossOf(x[:half+1], y[:half+1])
	last, okLast := lossOf(x[half:], y[half:])
	if okFirst && okLast && math.Abs(first.log-last.log) > unlike+first.sd+last.sd {
		return fall{}, false
	}
	whole.sd = math.Hypot(whole.sd, onceUnsure)
	return whole, true
}

// lossOf is the time constant by which y falls along x, and how sure it is by
// the points' scatter.
func lossOf(x, y []float64) (fall, bool) {
	l, ok := theilSen(x, y)
	if !ok || l.high >= 0 {
		return fall{}, false
	}
	tau := -1 / l.slope
	if tau < quickest.Minutes() || tau > slowest.Minutes() {
		return fall{}, false
	}
	return fall{log: math.Log(tau), sd: math.Log(l.low/l.high) / 2 / sure}, true
}
