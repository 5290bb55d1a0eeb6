package incubation

import (
	"math"
	"time"
)

// An outlook is what every member of a track's ensemble sees: the egg now, and
// at the end of one or more futures. It leaves the track as it is.
type outlook struct {
	track   *Track
	now     float64 // days
	members []ahead
	futures []future
	fates   [][]fate  // by future, by member
	changes []float64 // by member: see lastChange; nil: not asked for
	bias    []float64 // by member: the egg less what is planned, as last measured
	grid    grid
	lately  []portion // room for one member's portions to come
}

// ahead is one member's egg now, and its TSP at the end of the first future.
type ahead struct {
	course
	opens, closes float64 // days, past or to come; 0: never
	median        float64 // °C, by development
	sd            float64 // K, by development
}

// A fate is what a future makes of one member's egg.
type fate struct {
	chance  float64 // of a male
	hatches float64 // day; 0: never
}

// A portion is development in the TSP at one temperature.
type portion struct{ celsius, weight float64 }

// A future is temperatures to come, each from a day on; the last for ever.
type future []turn

type turn struct{ from, celsius float64 }

// look carries the track on to the time of the question and through its plan
// and the plans beside it. False: neither a record nor a plan says anything of
// temperature.
func (t *Track) look(q Question, beside ...[]Step) (*outlook, bool) {
	last, recorded := t.Last()
	if !recorded && len(q.Plan) == 0 || len(t.ensemble.Members) == 0 {
		return nil, false
	}
	o := &outlook{track: t, now: max(t.day(q.Now), 0)}
	if recorded {
		o.now = max(o.now, t.day(last.End()))
	}
	o.futures = append(o.futures, o.plan(q.Plan, o.now))
	if q.Holds {
		for c := holdFrom; c <= holdTo; c += holdStep {
			o.futures = append(o.futures, future{{o.now, c}})
		}
		o.changes = make([]float64, len(t.ensemble.Members))
	}
	for _, plan := range beside {
		o.futures = append(o.futures, o.plan(plan, o.now))
	}
	now := source{position: IncubatorAir}
	since := o.before(q.Plan)
	if recorded {
		now = t.sources[t.source(last)]
		since = o.since(last)
	}
	// What is to come is told of where the egg lies, not of the air around.
	shelf, _ := t.shelf(now)
	o.bias = t.errors(now)
	for i := range o.bias {
		o.bias[i] -= shelf.Kelvin
	}
	o.arrive(since)
	return o, true
}

// plan gives the temperatures of steps from a day on; what comes before the
// first is as the last day was.
func (o *outlook) plan(steps []Step, from float64) future {
	f := future{{from, 0}}
	if last, ok := o.track.Last(); ok {
		f[0].celsius = o.track.lately(last)
	} else if len(steps) > 0 {
		f[0].celsius = float64(steps[0].Celsius)
	}
	for _, step := range steps {
		if at := o.track.day(step.From); at > f[len(f)-1].from {
			f = append(f, turn{from: at})
		}
		f[len(f)-1].celsius = float64(step.Celsius)
	}
	return f
}

// end is the day on which the k-th turn is over.
func (f future) end(k int) float64 {
	if k+1 < len(f) {
		return f[k+1].from
	}
	return math.Inf(1)
}

// then is the future up to a day, and one temperature from it on.
func (f future) then(day, celsius float64) future {
	var out future
	for _, t := range f {
		if t.from < day {
			out = append(out, t)
		}
	}
	return append(out, turn{day, celsius})
}

// since is the way from the last block to now.
func (o *outlook) since(last Block) bridge {
	t := o.track
	g := gap{
		from: t.day(last.End()), to: o.now, open: after,
		start: float64(last.Celsius), source: t.source(last), since: last.Start,
	}
	shelf, _ := t.shelf(t.sources[g.source])
	g.end = o.futures[0][0].celsius - shelf.Kelvin
	if g.to <= g.from || g.to <= 0 {
		return bridge{}
	}
	g.from = max(g.from, 0)
	return t.bridge(g)
}

// before is the way from the laying to now where nothing was read: as planned.
func (o *outlook) before(steps []Step) bridge {
	var out bridge
	f := o.plan(steps, 0)
	for k, turn := range f {
		to := min(f.end(k), o.now)
		if to <= turn.from {
			continue
		}
		sd := o.track.planned()
		out.stretches = append(out.stretches, stretch{
			from: turn.from, to: to, celsius: turn.celsius, gap: 1, usual: sd, wild: sd,
		})
	}
	return out
}

// arrive takes every member's egg through the record, to now, and on along
// every future.
func (o *outlook) arrive(since bridge) {
	v := o.track.view()
	if v.track.last.Start.IsZero() {
		// Nothing was read: what is planned stands in for it.
		v.bias, since.source = [][]float64{o.bias}, 0
		v.lot.bias = make([]float64, 1)
		since.off = o.plans()
	}
	n := len(o.track.ensemble.Members)
	o.members = make([]ahead, n)
	o.fates = make([][]fate, len(o.futures))
	for f := range o.fates {
		o.fates[f] = make([]fate, n)
	}
	for i := range n {
		o.grid.clear()
		w := walk{m: &o.track.ensemble.Members[i], grid: &o.grid}
		l := v.draw(i)
		v.pass(&w, l, i)
		for _, s := range since.stretches {
			w.step(since.leg(s, l, i))
		}
		o.members[i].course = w.course
		o.foresee(&w, i)
	}
}

// planned is the sd of what will be against what is planned, K.
func (t *Track) planned() float64 {
	return t.doubts(OfPlan) * t.ensemble.Profile.Record.Plan.Value
}

// plans gives the members' errors of a plan.
func (o *outlook) plans() []float64 {
	out := make([]float64, len(o.track.ensemble.Members))
	for i := range out {
		out[i] = o.track.ensemble.Members[i].Plan
	}
	return out
}

// foresee takes the i-th member's egg, which has come to now, along every
// future.
func (o *outlook) foresee(w *walk, i int) {
	base := 0.0
	if w.m.Rule == ByChance && w.opens != 0 {
		base = o.grid.chances(w.m)
	}
	for f := range o.futures {
		e := o.see(w, o.futures[f], i)
		if f > 0 && w.closes != 0 {
			o.fates[f][i] = fate{o.fates[0][i].chance, e.hatches}
			continue
		}
		k := e.tally(w, base, f == 0)
		o.fates[f][i] = fate{e.judge(w.m, k), e.hatches}
		if f > 0 {
			continue
		}
		a := &o.members[i]
		a.opens, a.closes, a.median = e.opens, e.closes, e.at
		if k.weight > 0 {
			mean := k.first / k.weight
			a.median = k.median
			a.sd = math.Sqrt(max(e.second/k.weight-mean*mean, 0))
		}
	}
	if o.changes != nil {
		o.changes[i] = o.lastChange(w, i, base)
	}
}

// An end is one member's egg at the end of a future.
type end struct {
	course
	at     float64 // °C, of the last leg
	lately []portion
}

// see takes one member's egg along a future. The next call overwrites lately.
func (o *outlook) see(w *walk, f future, i int) end {
	e := end{course: w.course}
	o.lately = o.lately[:0]
	off := o.bias[i] + o.track.planned()*w.m.Plan
	laid := o.track.laidOn(w.m)
	for k, turn := range f {
		if e.hatches != 0 {
			break
		}
		e.at = turn.celsius + off
		weight := e.advance(w.m, leg{from: max(turn.from, laid), to: f.end(k), celsius: e.at})
		if weight > 0 {
			o.lately = append(o.lately, portion{e.at, weight})
		}
	}
	e.lately = o.lately
	return e
}

// tally is the whole TSP at the end of a future. base is the sum of chances
// up to now, for members that go by it; whole asks for the median of those
// that do not need it too.
func (e *end) tally(w *walk, base float64, whole bool) verdict {
	k := verdict{weight: e.inside(w.m), first: e.first, chances: base}
	if whole || w.m.Rule == ByMedian {
		k.median = w.grid.medianWith(e.lately)
	}
	if w.m.Rule == ByChance {
		for _, p := range e.lately {
			k.chances += p.weight * w.m.Chance(p.celsius)
		}
	}
	return k
}

// judge gives the chance of a male; of an egg that never comes to its TSP, as
// at the temperature that it lies at in the end.
func (e *end) judge(m *Member, k verdict) float64 {
	if k.weight <= 0 {
		return m.Chance(e.at)
	}
	return m.judge(k)
}

// horizon is how far ahead a date is given at all: what lies beyond it is
// "not as things stand".
const horizon = 365 // days

// date turns days into a time, rounded up to the minute; the zero time for one
// that never comes or lies beyond the horizon.
func (o *outlook) date(day float64) time.Time {
	if !(day > 0 && day <= o.now+horizon) {
		return time.Time{}
	}
	at := o.track.epoch.Add(time.Duration(day * 24 * float64(time.Hour)))
	if whole := at.Truncate(time.Minute); !whole.Equal(at) {
		return whole.Add(time.Minute)
	}
	return at
}
