package simulated

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"clutchd/incubation"
)

// A Room is the model at work. Its methods may be called from several
// goroutines.
type Room struct {
	mu     sync.Mutex
	spec   Spec
	seed   uint64
	start  time.Time
	step   time.Duration
	nodes  []node // what has a temperature, each behind what it stands in
	index  map[string]int
	faults []Fault
	hour   time.Time // that near is of
	near   []Fault   // those of faults that touch it
	moods  []mood
	drifts time.Time // from when the weather drifts
	asked  time.Time // until when readings were given
	heard  time.Time // until when contacts were

	heat   heat
	before []float64 // temperatures at the beginning of a step
	marks  []heat    // one a day, to go back to; the first is the start
}

// heat is all that changes: it can be copied and gone back to.
type heat struct {
	count   int64 // steps since the start
	celsius []float64
	feels   []float64 // what each cabinet's thermostat feels
	on      []bool    // heaters
}

func (h heat) clone() heat {
	h.celsius, h.feels, h.on = slices.Clone(h.celsius), slices.Clone(h.feels), slices.Clone(h.on)
	return h
}

// New gives the room as it is at start, everything settled where it is set.
// The spec should pass its Check; a place it does not know is the room.
func New(spec Spec, seed uint64, start time.Time) *Room {
	start = start.UTC()
	r := &Room{
		spec: spec, seed: seed, start: start, asked: start, heard: start,
		faults: slices.Clone(spec.Faults),
	}
	r.moods = moods(r.dice(0, 0), spec.Weather.Moods)
	if r.drifts = spec.Weather.From; r.drifts.IsZero() {
		r.drifts = start
	}
	r.step = spec.interval()
	if most := 30 * time.Second; r.step > most {
		r.step /= (r.step + most - 1) / most
	}
	r.build()
	return r
}

func (r *Room) time(count int64) time.Time {
	return r.start.Add(time.Duration(count) * r.step)
}

// marksEvery is how far apart the model keeps a state to go back to.
const marksEvery = 24 * time.Hour

// runTo lives through the steps up to count.
func (r *Room) runTo(count int64) {
	every := int64(marksEvery / r.step)
	for r.heat.count < count {
		r.advance()
		if n := int64(len(r.marks)); r.heat.count == n*every {
			r.marks = append(r.marks, r.heat.clone())
		}
	}
}

// Celsius gives the true temperature of a place at the model's present time.
func (r *Room) Celsius(place string) (c incubation.Celsius, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	i, ok := r.index[place]
	if !ok {
		return 0, false
	}
	return incubation.Celsius(r.heat.celsius[i]), true
}

// A mood is one slow wave of the weather.
type mood struct{ size, period, phase float64 }

// moods draws four waves of a few days each; together they seldom leave size.
func moods(dice *rand.Rand, size float64) []mood {
	out := make([]mood, 4)
	for i := range out {
		days := 2 + 2.3*float64(i) + dice.Float64()
		out[i] = mood{size: size / 2, period: days * 24, phase: 2 * math.Pi * dice.Float64()}
	}
	return out
}

// outside gives the room's temperature at t. Waves run on the calendar, so that
// a model started later finds the same weather.
func (r *Room) outside(t time.Time) float64 {
	w := r.spec.Weather
	c := w.Mean + w.Drift*t.Sub(r.drifts).Hours()/24 +
		w.Swing*math.Cos(2*math.Pi*(hour(t)-w.Peak)/24)
	c += r.wave(t) + w.Season*math.Sin(2*math.Pi*t.Sub(r.drifts).Hours()/24/yearDays)
	hours := float64(t.Unix()) / 3600
	for _, m := range r.moods {
		c += m.size * math.Sin(2*math.Pi*hours/m.period+m.phase)
	}
	return c
}

const yearDays = 365.25

// hour gives the hour of the day, UTC, with its fraction.
func hour(t time.Time) float64 {
	return float64(t.Unix()%86400) / 3600
}
