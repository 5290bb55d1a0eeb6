package incubation

import (
	"math"
	"time"
)

// An outlook is a track carried on to a time, ready to be asked what any
// future would give. It leaves the track as it is.
type outlook struct {
	track  *Track
	now    float64 // days
	eggs   []ahead
	off    []float64 // the members' Plan
	future []stretch // as planned, or as the last day was
	grid   grid
	lately []portion // room for one member's portions
}

// A portion is development in the TSP at one temperature.
type portion struct{ celsius, weight float64 }

// ahead is one member's egg at the time asked.
type ahead struct {
	course
	recent  []portion // in the TSP, since the last block
	chances float64   // sum of chances over the TSP so far; for ByChance only
}

// look carries the track on to the time of the question. False: neither a
// record nor a plan says anything of temperature.
func (t *Track) look(q Question) (*outlook, bool) {
	last, recorded := t.Last()
	if !recorded && len(q.Plan) == 0 {
		return nil, false
	}
	o := &outlook{track: t, now: max(t.day(q.Now), 0), off: make([]float64, len(t.eggs))}
	for i := range o.off {
		o.off[i] = t.ensemble.Members[i].Plan
	}
	if recorded {
		o.now = max(o.now, t.day(last.End()))
	}
	o.future = o.plan(q.Plan, o.now)
	var since []stretch
	if recorded {
		g := gap{
			from: t.day(last.End()), to: o.now, open: after,
			start: float64(last.Celsius), end: o.future[0].celsius,
		}
		since = o.since(g)
	} else {
		for _, s := range o.plan(q.Plan, 0) {
			s.to, s.gap = min(s.to, o.now), 1
			since = append(since, s)
		}
	}
	o.arrive(since)
	return o, true
}

// since is the way from the last block to now.
func (o *outlook) since(g gap) []stretch {
	if g.to <= g.from || g.to <= 0 {
		return nil
	}
	g.from = max(g.from, 0)
	var off []float64
	if g.counts() {
		off = o.track.ensemble.normals(causeOf("after", stamp(o.track.last.Start)))
	}
	return g.stretches(o.track.ensemble.Profile.Record, off)
}

// plan gives the stretches from a day on, the last one without an end.
func (o *outlook) plan(steps []Step, from float64) []stretch {
	s := o.hold(math.NaN(), from)
	if last, ok := o.track.Last(); ok {
		s.celsius = o.track.recent.mean(last)
	} else if len(steps) > 0 {
		s.celsius = float64(steps[0].Celsius)
	}
	var out []stretch
	for _, step := range steps {
		if at := o.track.day(step.From); at > s.from {
			s.to = at
			out = append(out, s)
			s = o.hold(s.celsius, at)
		}
		s.celsius = float64(step.Celsius)
	}
	return append(out, s)
}

// hold is one temperature from a day on, for ever.
func (o *outlook) hold(celsius, from float64) stretch {
	return stretch{
		from: from, to: math.Inf(1), celsius: celsius,
		off: o.off, sd: o.track.ensemble.Profile.Record.Plan.Value,
	}
}

// arrive takes every member's egg along the way to now.
func (o *outlook) arrive(since []stretch) {
	o.eggs = make([]ahead, len(o.track.eggs))
	for i := range o.eggs {
		e, a, m := &o.track.eggs[i], &o.eggs[i], &o.track.ensemble.Members[i]
		a.course = e.course
		before := e.inside(m)
		for _, s := range since {
			l := o.track.leg(i, s)
			if w := a.advance(m, l); w > 0 {
				a.recent = append(a.recent, portion{l.celsius, w})
			}
		}
		if m.Rule != ByChance || e.settled {
			continue
		}
		o.grid.load(e.spread)
		a.chances = o.grid.chance(m) * before
		for _, p := range a.recent {
			a.chances += p.weight * m.Chance(p.celsius)
		}
	}
}

// A sight is what one member sees at the end of a future.
type sight struct {
	opens, closes, hatches float64 // days; 0: never
	chance                 float64 // of a male
	median                 float64 // °C, of the TSP by development
	sd                     float64 // K, of the TSP by development
}

// see takes one member's egg along a future. whole asks for median and sd of
// members that do not need them for their chance.
func (o *outlook) see(i int, future []stretch, whole bool) sight {
	e, m, c := &o.track.eggs[i], &o.track.ensemble.Members[i], o.eggs[i].course
	chances := o.eggs[i].chances
	o.lately = append(o.lately[:0], o.eggs[i].recent...)
	var at float64
	for _, s := range future {
		if c.hatches != 0 {
			break
		}
		l := o.track.leg(i, s)
		at = l.celsius
		if w := c.advance(m, l); w > 0 {
			o.lately = append(o.lately, portion{at, w})
			if m.Rule == ByChance {
				chances += w * m.Chance(at)
			}
		}
	}
	v := sight{opens: c.opens, closes: c.closes, hatches: c.hatches}
	k := tally{weight: c.inside(m), first: c.first, chances: chances}
	switch {
	case e.settled:
		v.chance, v.median = e.chance, e.median
	case k.weight <= 0:
		v.chance, v.median = m.Chance(at), at
		return v
	default:
		if whole || m.Rule == ByMedian {
			k.median = o.median(e.spread)
		}
		v.chance, v.median = m.judge(k), k.median
	}
	if whole {
		mean := k.first / k.weight
		v.sd = math.Sqrt(max(c.second/k.weight-mean*mean, 0))
	}
	return v
}

// median is that of a spread with the present member's portions.
func (o *outlook) median(s spread) float64 {
	o.grid.load(s)
	for _, p := range o.lately {
		o.grid.add(p.celsius, p.weight)
	}
	return o.grid.median()
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
