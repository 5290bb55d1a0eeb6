package thermal

import (
	"math"
	"time"
)

const (
	// turn is how much a temperature must come back for its fall to be over,
	// K: more than a chip's noise and step.
	turn = 0.2
	// fallLeast is how much a place must fall for it to have lost its heat, K:
	// more than any thermostat swings. Judgement, as an egg's record has it.
	// It must take fallLasts: a door that stands open makes a place fall sooner.
	fallLeast = 2.0
	fallLasts = 20 * time.Minute
	// cycleLeast is how much a thermostat's pause must make it fall to be
	// measured, K, and overRoom how much warmer than the room it must be.
	cycleLeast = 0.3
	overRoom   = 3.0
	// cyclesFrom is how many pauses within cyclesOf make a curve: a door that
	// is opened daily makes none. cycleUnsure is how far it may be off what a
	// long fall shows, sd of the logarithm: the air cools before the walls do.
	// Judgement, all three.
	cyclesFrom  = 20
	cyclesOf    = 48 * time.Hour
	cycleUnsure = 0.25
	// kept bounds what is remembered of each kind.
	keptFalls, keptCycles = 12, 200
	// runMost bounds the points of one fall: beyond it every second is kept.
	runMost = 160
	// pause between two points ends a fall: nobody knows what was between.
	pause = 20 * time.Minute
)

// A Learner sees a place cool and learns its curve: from falls without heat,
// and, where the room is measured, from the pauses of its thermostat. Its zero
// value is ready. Fed in pieces is fed at once.
type Learner struct {
	run     []sample // from the last peak on
	lowest  float64  // of run
	every   time.Duration
	falls   []fall
	cycles  []cycle
	running *fall // what the fall that goes on tells so far
	looked  time.Time
}

// A cycle is one pause of a thermostat, and the logarithm of the time constant
// that it showed, in minutes.
type cycle struct {
	at  time.Time
	log float64
}

// Add takes a point, oldest first, and the room's temperature; nil: it is not
// measured.
func (l *Learner) Add(p Point, room *float64) {
	if !finite(p.Celsius) {
		return
	}
	s := sample{p, math.NaN()}
	if room != nil {
		s.room = *room
	}
	n := len(l.run)
	if n > 0 {
		switch last := l.run[n-1]; {
		case p.At.Sub(last.At) > pause:
			l.Break()
		case p.At.Sub(last.At) < max(Spacing, l.every) && p.Celsius < l.lowest+turn:
			return
		}
	}
	switch {
	case len(l.run) == 0, p.Celsius >= l.run[0].Celsius:
		l.finish()
		l.begin(s)
		return
	case p.Celsius > l.lowest+turn:
		l.finish()
		l.begin(s)
		return
	}
	l.run = append(l.run, s)
	l.lowest = min(l.lowest, p.Celsius)
	l.shorten()
	l.look(p.At)
}

func (l *Learner) begin(s sample) {
	l.run, l.lowest, l.every, l.running, l.looked = append(l.run[:0], s), s.Celsius, 0, nil, s.At
}

// shorten keeps every second point of a run that has grown long.
func (l *Learner) shorten() {
	if len(l.run) < runMost {
		return
	}
	half := l.run[:0]
	for i := 0; i < len(l.run); i += 2 {
		half = append(half, l.run[i])
	}
	l.run = half
	l.every = max(Spacing, l.every) * 2
}

// Break ends the fall that goes on without learning from it: a door stood
// open, the thermostat was turned down, nothing was read.
func (l *Learner) Break() { l.run, l.running = l.run[:0], nil }

// lookEvery is how often a fall that goes on is fitted.
const lookEvery = 5 * time.Minute

func (l *Learner) look(now time.Time) {
	if now.Sub(l.looked) < lookEvery {
		return
	}
	l.looked, l.running = now, nil
	if l.run[0].Celsius-l.lowest >= fallLeast {
		if f, ok := fitLong(l.part(0.15, 1)); ok {
			l.running = &f
		}
	}
}

// fitLong fits a fall that is no door's.
func fitLong(s []sample) (fall, bool) {
	if len(s) == 0 || s[len(s)-1].At.Sub(s[0].At) < fallLasts {
		return fall{}, false
	}
	return fitFall(s)
}

// finish learns from the fall that is over.
func (l *Learner) finish() {
	if len(l.run) < 2*fewest {
		return
	}
	switch drop := l.run[0].Celsius - l.lowest; {
	case drop >= fallLeast:
		if f, ok := fitLong(l.part(0.15, 0.95)); ok {
			l.falls = last(append(l.falls, f), keptFalls)
		}
	case drop >= cycleLeast:
		part := l.part(0.2, 0.9)
		if len(part) < fewest || !measured(part) || part[len(part)-1].Celsius-part[len(part)-1].room < overRoom {
			return
		}
		if f, ok := fitAgainst(part, func(p sample) float64 { return p.room }); ok {
			l.cycles = last(append(l.cycles, cycle{l.run[0].At, f.log}), keptCycles)
			for l.run[0].At.Sub(l.cycles[0].at) > cyclesOf {
				l.cycles = l.cycles[1:]
			}
		}
	}
}

// part is the run between two shares of its fall: the heat does not end at its
// peak, and comes back before its lowest.
func (l *Learner) part(from, to float64) []sample {
	top, drop := l.run[0].Celsius, l.run[0].Celsius-l.lowest
	begin, end := 0, len(l.run)
	for begin < end && l.run[begin].Celsius > top-from*drop {
		begin++
	}
	for i := begin; i < len(l.run); i++ {
		if l.run[i].Celsius <= top-to*drop {
			end = i + 1
			break
		}
	}
	return l.run[begin:end]
}

func last[T any](s []T, n int) []T {
	if len(s) > n {
		return append(s[:0], s[len(s)-n:]...)
	}
	return s
}

// Curve is what was learned so far, the fall that goes on included. False:
// nothing was; Typical is what there is.
func (l *Learner) Curve() (Cooling, bool) {
	falls := l.falls
	if l.running != nil {
		falls = append(falls[:len(falls):len(falls)], *l.running)
	}
	switch {
	case len(falls) > 0:
		return ofFalls(falls), true
	case len(l.cycles) >= cyclesFrom:
		logs := make([]float64, len(l.cycles))
		for i, c := range l.cycles {
			logs[i] = c.log
		}
		middle, spread := spreadOf(logs)
		return Cooling{
			Tau: duration(math.Exp(middle)), Cycles: len(l.cycles),
			SD: math.Hypot(cycleUnsure, spread/math.Sqrt(float64(len(l.cycles)))),
		}, true
	}
	return Cooling{}, false
}

// ofFalls sums several up: their median, and as unsure as they are, or as they
// differ.
func ofFalls(falls []fall) Cooling {
	logs, own := make([]float64, len(falls)), make([]float64, len(falls))
	for i, f := range falls {
		logs[i], own[i] = f.log, f.sd
	}
	middle, spread := spreadOf(logs)
	return Cooling{
		Tau: duration(math.Exp(middle)), Seen: len(falls), SD: max(spread, median(own)),
	}
}

// spreadOf is the median, and the median distance from it as a standard
// deviation.
func spreadOf(values []float64) (middle, spread float64) {
	middle = median(values)
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - middle)
	}
	return middle, 1.4826 * median(off)
}

// Shift moves the fall that goes on, when the clock is set.
func (l *Learner) Shift(d time.Duration) {
	for i := range l.run {
		l.run[i].At = l.run[i].At.Add(d)
	}
	for i := range l.cycles {
		l.cycles[i].at = l.cycles[i].at.Add(d)
	}
	l.looked = l.looked.Add(d)
}
