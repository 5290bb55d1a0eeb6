package season

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"clutchd/incubation"
)

// Ahead throws the dice for the weeks to come: each run draws every female's
// own interval, when her next clutches fall and when she stops, how many eggs
// hatch and how long they lie. It counts females that laid or were with a male
// this season or the last. The same state, time and seed give the same answer.
func (h *Herd) Ahead(s Span) Forecast {
	if s.Weeks <= 0 {
		s.Weeks = 26
	}
	if s.Runs <= 0 {
		s.Runs = 300
	}
	f := Forecast{Capacity: s.Capacity}
	if f.Capacity == 0 {
		f.Capacity = h.capacity()
	}
	sim := h.simulation(s.Weeks)
	runs := make([]run, s.Runs)
	chance := rand.New(rand.NewPCG(s.Seed, 1))
	for i := range runs {
		runs[i] = sim.once(chance)
	}
	f.Weeks = make([]Week, s.Weeks)
	for w := range f.Weeks {
		f.Weeks[w] = Week{
			From:       h.day0(w),
			Layings:    over(runs, func(r run) float64 { return r.layings[w] }),
			Boxes:      over(runs, func(r run) float64 { return r.boxes[w] }),
			Hatchlings: over(runs, func(r run) float64 { return r.hatchlings[w] }),
		}
		need := func(share float64) bool {
			n := 0
			for _, r := range runs {
				if r.boxes[w] >= float64(f.Capacity) {
					n++
				}
			}
			return f.Capacity > 0 && float64(n) >= share*float64(len(runs))
		}
		if f.Full.IsZero() && need(0.5) {
			f.Full = f.Weeks[w].From
		}
		if f.MayBeFull.IsZero() && need(0.1) {
			f.MayBeFull = f.Weeks[w].From
		}
	}
	f.Layings = over(runs, func(r run) float64 { return sum(r.layings) })
	f.Eggs = over(runs, func(r run) float64 { return r.eggs })
	f.Hatchlings = over(runs, func(r run) float64 { return sum(r.hatchlings) })
	f.Rests = sim.rests()
	return f
}

// day0 is the start of a week: of so many times seven days from today.
func (h *Herd) day0(week int) time.Time {
	return h.midnight(h.midnight(h.now).Add(12*time.Hour + days(float64(7*week))))
}

// capacity counts the egg boxes in use that stand in an incubator.
func (h *Herd) capacity() int {
	n := 0
	for id, p := range h.state.Places {
		in := h.state.Places[incubation.At(p.Stays, h.now)]
		if p.Kind == incubation.Box && !h.state.Gone[id] && in != nil && in.Kind == incubation.Incubator {
			n++
		}
	}
	return n
}

// A simulation is what every run is drawn from.
type simulation struct {
	weeks    int
	layers   []layer
	lying    []lain // live eggs, by box
	boxes    int    // that hold them
	perBox   float64
	double   float64 // share of clutches with two eggs
	hatch    float64 // share of eggs that hatch
	took     Learned // days from laying to hatch
	interval *pool
	another  [mostInSeason]float64 // the chance of one more after so many
	n        int                   // eggs behind hatch
}

// mostInSeason is more clutches than any female lays in a season.
const mostInSeason = 30

// A layer is a female that may lay.
type layer struct {
	mean, sd float64 // her own interval, days, and what it may be off
	starts   []start // this season's next clutch, the next season's first
}

// A start is a clutch that more may follow, in days from now.
type start struct {
	at, sd float64
	comes  float64 // the chance of it
	laid   int     // how many she has laid in its season
	end    float64 // of its season
}

// A lain is a live egg: the box it lies in, and when it hatches, days from now.
type lain struct {
	box        int
	likely, sd float64
	pipped     bool
}

// A run is one season drawn.
type run struct {
	layings, boxes, hatchlings []float64 // by week
	eggs                       float64
}

// once draws a season.
func (s *simulation) once(chance *rand.Rand) run {
	r := run{make([]float64, s.weeks), make([]float64, s.weeks), make([]float64, s.weeks), 0}
	until := make([]float64, s.boxes)
	for _, e := range s.lying {
		out := max(e.likely+e.sd*chance.NormFloat64(), 0)
		until[e.box] = max(until[e.box], out)
		if e.pipped || chance.Float64() < s.hatch {
			r.hatch(out)
		}
	}
	for _, t := range until {
		r.occupy(-1, t, 1)
	}
	for i := range s.layers {
		s.lay(&s.layers[i], &r, chance)
	}
	return r
}

// lay draws one female's clutches. What is still to come comes after now: the
// book would know of it otherwise.
func (s *simulation) lay(l *layer, r *run, chance *rand.Rand) {
	own := l.mean + l.sd*chance.NormFloat64()
	within, last := math.Sqrt(s.interval.w2), math.Inf(-1)
	for _, b := range l.starts {
		u, comes := chance.Float64(), chance.Float64() < b.comes
		if !comes {
			continue
		}
		z := phi(-b.at / b.sd)
		at := max(b.at+b.sd*probit(min(z+u*(1-z), 1-1e-12)), 0, last+own)
		for n := b.laid + 1; at < float64(7*s.weeks); n++ {
			s.clutch(at, r, chance)
			last = at
			at += max(own+within*chance.NormFloat64(), 7)
			if at >= b.end || chance.Float64() >= s.another[min(n, mostInSeason-1)] {
				break
			}
		}
	}
}

// clutch draws what becomes of a clutch laid then.
func (s *simulation) clutch(at float64, r *run, chance *rand.Rand) {
	r.layings[int(at/7)]++
	eggs, last := 1, at
	if chance.Float64() < s.double {
		eggs = 2
	}
	r.eggs += float64(eggs)
	for range eggs {
		out := at + max(s.took.Days+s.took.SD*chance.NormFloat64(), 20)
		last = max(last, out)
		if chance.Float64() < s.hatch {
			r.hatch(out)
		}
	}
	r.occupy(at, last, float64(eggs)/s.perBox)
}

func (r *run) hatch(at float64) {
	if w := int(at / 7); w < len(r.hatchlings) {
		r.hatchlings[w]++
	}
}

// occupy counts a box, or a part of one, in every week in which it is needed.
func (r *run) occupy(from, to, share float64) {
	for w := max(int(from/7), 0); w < len(r.boxes) && float64(7*w) < to; w++ {
		r.boxes[w] += share
	}
}

// over gives the band of a figure over the runs: the 10 %, 50 % and 90 %
// points, counts as counts.
func over(runs []run, of func(run) float64) Range {
	xs := make([]float64, len(runs))
	for i, r := range runs {
		xs[i] = of(r)
	}
	slices.Sort(xs)
	at := func(p float64) float64 { return xs[int(math.Round(p*float64(len(xs)-1)))] }
	return Range{at(0.1), at(0.5), at(0.9)}
}

func sum(xs []float64) float64 {
	out := 0.0
	for _, x := range xs {
		out += x
	}
	return out
}

// rests says what the forecast goes by.
func (s *simulation) rests() string {
	return fmt.Sprintf("%s that laid or were with a male this season or the last; %d intervals between clutches; "+
		"%.0f %% of eggs hatching (%s).", count(len(s.layers), "female", "females"), s.interval.n, 100*s.hatch,
		basedOn(s.n))
}

func basedOn(n int) string {
	if n == 0 {
		return "a starting value, judgement"
	}
	return count(n, "egg of this room and a starting value", "eggs of this room and a starting value")
}
