package incubation

import (
	"maps"
	"slices"
	"time"
)

// A Guess is one parameter set, of an ensemble or not, and what it holds of
// the probes: their errors in units of their sd, 0 for one that it does not
// name.
type Guess struct {
	Member Member
	Probes map[string]float64
}

// A Reckoning is what a guess makes of a record.
type Reckoning struct {
	// Development at the time asked, which goes on beyond hatching; and how
	// fast it then is, a day.
	Development, Rate float64
	// Silent is the share of it that no reading speaks for.
	Silent float64
	// Chance of a male, of the TSP so far.
	Chance float64
}

// Guess is the i-th member as a guess, with its errors of the probes named.
func (e *Ensemble) Guess(i int, probes map[string][]float64) Guess {
	g := Guess{Member: e.Members[i], Probes: make(map[string]float64, len(probes))}
	for id, errors := range probes {
		g.Probes[id] = errors[i]
	}
	return g
}

// Errors gives the members' errors of each probe, in units of its sd.
func (e *Ensemble) Errors(probes []string) map[string][]float64 {
	out := map[string][]float64{}
	for _, id := range probes {
		out[id] = e.probe(id)
	}
	return out
}

// ProbesHeard gives the ids of the probes that the record was measured by.
func (t *Track) ProbesHeard() []string {
	var out []string
	for _, s := range t.sources {
		probes, _ := s.probes()
		out = append(out, probes...)
	}
	return out
}

// Laying gives when the record's egg was laid.
func (t *Track) Laying() Laying { return t.laid }

// A Reckoner goes through one record again and again, for guesses.
type Reckoner struct {
	track   *Track
	bridges [][]stretch
	at      float64
	end     float64 // of the record, day
	lately  float64 // °C
	source  source  // of the last block
	grid    grid
	lot     lot
}

// Reckoner makes the record as it is now ready to be asked by guesses what
// they make of it at a time. Gaps are gone through along their middle, an egg
// whose laying was not seen is taken to be laid in the middle of it.
func (t *Track) Reckoner(at time.Time) *Reckoner {
	r := &Reckoner{track: t.Freeze(), at: t.day(at)}
	r.lot.bias = make([]float64, len(t.sources))
	r.lot.laid = t.laying / 2
	if last, recorded := t.Last(); recorded {
		r.end, r.source = t.day(last.End()), t.sources[t.source(last)]
		shelf, _ := t.shelf(r.source)
		r.lately = t.lately(last) - shelf.Kelvin
	}
	for _, p := range r.track.parts {
		if p.run == nil {
			r.bridges = append(r.bridges, r.track.bridge(p.gap).stretches)
		}
	}
	return r
}

// Same reports whether another record would give every guess the same, as of
// siblings that lay side by side.
func (r *Reckoner) Same(other *Reckoner) bool {
	a, b := r.track, other.track
	return r.at == other.at && a.ensemble == b.ensemble && a.epoch.Equal(b.epoch) &&
		a.laying == b.laying && slices.Equal(a.sources, b.sources) &&
		maps.Equal(a.shelves, b.shelves) && slices.Equal(a.outages, b.outages) &&
		slices.EqualFunc(a.parts, b.parts, samePart)
}

func samePart(a, b part) bool {
	if a.run == nil || b.run == nil {
		return a.run == b.run && a.gap == b.gap
	}
	return a.run.source == b.run.source && a.run.from == b.run.from &&
		slices.Equal(a.run.steps, b.run.steps) && slices.Equal(a.run.silent, b.run.silent)
}

// Reckon gives what a guess makes of the record. False: there is none.
func (r *Reckoner) Reckon(g *Guess) (Reckoning, bool) {
	t := r.track
	if t.last.Start.IsZero() {
		return Reckoning{}, false
	}
	for k, s := range t.sources {
		r.lot.bias[k] = t.guessed(s, g)
	}
	w := walk{m: &g.Member}
	if g.Member.Rule != ByMean {
		r.grid.clear()
		w.grid = &r.grid
	}
	silent, gaps := 0.0, 0
	for _, p := range t.parts {
		if p.run != nil {
			w.through(p.run, &r.lot)
			continue
		}
		before := w.done
		for _, s := range r.bridges[gaps] {
			w.step(leg{
				from: max(s.from, r.lot.laid), to: s.to,
				celsius: s.celsius + r.lot.bias[p.gap.source], gap: s.gap,
			})
		}
		gaps++
		silent += w.done - before
	}
	now := r.lately + t.guessed(r.source, g)
	rate := g.Member.Rate(now)
	out := Reckoning{Rate: rate, Development: w.done + rate*(r.at-r.end)}
	if r.at > r.end {
		silent += rate * (r.at - r.end)
	}
	if out.Development > 0 {
		out.Silent = min(silent/out.Development, 1)
	}
	e := end{course: w.course, at: now}
	out.Chance = e.judge(&g.Member, e.tally(&w, r.base(&w), false))
	return out, true
}

func (r *Reckoner) base(w *walk) float64 {
	if w.m.Rule != ByChance {
		return 0
	}
	return r.grid.chances(w.m)
}

// guessed is a guess's error of a source: the egg less what was measured, K.
func (t *Track) guessed(s source, g *Guess) float64 {
	out := 0.0
	probes, each := s.probes()
	for _, probe := range probes {
		out += each * g.Probes[probe]
	}
	if shelf, learned := t.shelf(s); learned {
		return out + shelf.Kelvin
	}
	return out + t.ensemble.Profile.Record.position(s.position)*g.Member.Position
}
