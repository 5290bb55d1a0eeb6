package monitor

import (
	"maps"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

const (
	// blockGrace is how long after its end a block is folded: a probe that
	// speaks every half minute has said its last word on it by then.
	blockGrace = 30 * time.Second
	// keepBlocks is how far back folded blocks are kept, for a replay to
	// catch up with what happened while it read.
	keepBlocks = 6 * time.Hour
)

// A blockSet is one aligned stretch: what each probe said in it.
type blockSet struct {
	start  time.Time
	blocks map[string]incubation.Block
}

// An eggWatch holds each egg's record under the ensemble and the estimates
// made from it.
type eggWatch struct {
	tracks    map[string]*incubation.Track // live eggs whose record is whole
	estimates map[string]*incubation.Estimate
	males     map[string][]float64 // by clutch
	due       map[string]bool      // clutches to be estimated anew
	wanted    map[string]bool      // eggs whose record must be replayed
	folded    time.Time            // end of what is folded
	open      map[time.Time]map[string]incubation.Block
	recent    []blockSet
	wake      chan struct{}
}

func (w *eggWatch) init() {
	w.tracks = map[string]*incubation.Track{}
	w.estimates = map[string]*incubation.Estimate{}
	w.males = map[string][]float64{}
	w.due, w.wanted = map[string]bool{}, map[string]bool{}
	w.open = map[time.Time]map[string]incubation.Block{}
	w.wake = make(chan struct{}, 1)
}

// want asks for eggs' records to be replayed from the history.
func (w *eggWatch) want(eggs ...string) {
	for _, id := range eggs {
		w.wanted[id] = true
	}
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// closed keeps a probe's closed block until its stretch is folded.
func (w *eggWatch) closed(b incubation.Block, p sensors.Probe) {
	b.Accuracy = p.Accuracy
	if b.Start.Before(w.folded) {
		return // too late for the running fold; the history has it
	}
	if w.open[b.Start] == nil {
		w.open[b.Start] = map[string]incubation.Block{}
	}
	w.open[b.Start][b.Probe] = b
}

// fold folds every stretch that is over into the eggs' tracks. Caller holds mu.
func (m *Monitor) fold(now time.Time) {
	w := &m.eggs
	until := now.Add(-blockGrace).Truncate(incubation.BlockLength)
	if !until.After(w.folded) {
		return
	}
	for _, p := range m.probes {
		if b, ok := p.aligner.Close(until); ok {
			w.closed(b, p.probe)
		}
	}
	for _, start := range slices.SortedFunc(maps.Keys(w.open), time.Time.Compare) {
		if !start.Before(until) {
			break
		}
		set := blockSet{start: start, blocks: w.open[start]}
		delete(w.open, start)
		w.recent = append(w.recent, set)
		for id, track := range w.tracks {
			foldOne(m.book, m.book.Eggs[id], track, set)
		}
	}
	w.folded = until
	w.recent = slices.DeleteFunc(w.recent, func(s blockSet) bool {
		return s.start.Before(until.Add(-keepBlocks))
	})
	for id := range w.tracks {
		w.due[m.book.Eggs[id].Clutch] = true
	}
}

// foldOne adds to an egg's track what the probes that speak for it said.
func foldOne(b *book.State, egg *incubation.Egg, track *incubation.Track, set blockSet) {
	middle := set.start.Add(incubation.BlockLength / 2)
	sources := incubation.Sources(b.Room(), egg.Stays, middle)
	if piece, ok := incubation.Piece(sources, set.blocks); ok {
		// A block before the laying, or a second one for the same stretch, is
		// refused by the track and changes nothing.
		_ = track.Add(piece)
	}
}

// estimate brings at most budget clutches' estimates up to date, oldest names
// first. Caller holds mu.
func (m *Monitor) estimate(now time.Time, budget int) {
	for _, id := range slices.Sorted(maps.Keys(m.eggs.due)) {
		if budget == 0 {
			return
		}
		budget--
		delete(m.eggs.due, id)
		m.estimateClutch(id, now)
	}
}

func (m *Monitor) estimateClutch(id string, now time.Time) {
	clutch := m.book.Clutches[id]
	if clutch == nil {
		return
	}
	var live []incubation.EggQuestion
	for _, egg := range clutch.Eggs {
		track := m.eggs.tracks[egg.ID]
		if track == nil || !egg.Live() {
			continue
		}
		q := question(m.book, egg, now)
		live = append(live, incubation.EggQuestion{Track: track, Question: q})
		q.Holds = true
		e := track.Estimate(q)
		m.eggs.estimates[egg.ID] = &e
	}
	delete(m.eggs.males, id)
	if len(live) > 0 {
		m.eggs.males[id] = incubation.Males(live)
	}
}

// question is what is asked about an egg at a time: the plan in force, and
// what the book knows of it.
func question(b *book.State, egg *incubation.Egg, now time.Time) incubation.Question {
	q := incubation.Question{Now: now, Plan: b.PlanSteps(egg.ID, now)}
	if egg.Live() {
		// That nobody wrote a hatch down does not say that there was none.
		q.AliveAt = egg.AliveAt
	}
	return q
}

// reconcile follows the eggs from one state of the book to the next: new ones
// and those whose past changed are replayed, ended ones get their last
// estimate. Caller holds mu.
func (m *Monitor) reconcile(before, after *book.State) {
	for id, egg := range after.Eggs {
		old := before.Eggs[id]
		switch {
		case old == nil, m.pastChanged(before, after, old, egg):
			m.eggs.want(id)
			if !egg.Live() {
				delete(m.eggs.tracks, id)
			}
		case old.Live() && !egg.Live():
			if track := m.eggs.tracks[id]; track != nil {
				e := track.Estimate(question(after, egg, egg.Ended))
				m.eggs.estimates[id] = &e
			}
			delete(m.eggs.tracks, id)
		}
		m.eggs.due[egg.Clutch] = true
	}
	for id := range before.Eggs {
		if after.Eggs[id] == nil {
			delete(m.eggs.tracks, id)
			delete(m.eggs.estimates, id)
			delete(m.eggs.wanted, id)
		}
	}
}

// pastChanged reports whether the change touches what was folded already:
// where the egg lay, or which probes spoke for it, before the end of the fold.
func (m *Monitor) pastChanged(before, after *book.State, old, egg *incubation.Egg) bool {
	if old.Live() != egg.Live() && egg.Live() {
		return true // a void brought it back
	}
	a, b := before.Clutches[old.Clutch], after.Clutches[egg.Clutch]
	if a == nil || b == nil || a.Laid != b.Laid {
		return true
	}
	if slices.Equal(old.Stays, egg.Stays) && sameRoom(before, after) {
		return false
	}
	from, until := b.Laid.From.Truncate(incubation.BlockLength), m.eggs.folded
	for t := from; t.Before(until); t = t.Add(incubation.BlockLength) {
		middle := t.Add(incubation.BlockLength / 2)
		x := incubation.Sources(before.Room(), old.Stays, middle)
		y := incubation.Sources(after.Room(), egg.Stays, middle)
		// What a placement's end is does not matter to the stretch it covers.
		if !slices.EqualFunc(x, y, func(a, b incubation.Placement) bool {
			return a.Probe == b.Probe && a.Position == b.Position &&
				a.Accuracy == b.Accuracy && a.Offset == b.Offset
		}) {
			return true
		}
	}
	return false
}

// sameRoom reports whether boxes and probes stand where they stood.
func sameRoom(a, b *book.State) bool {
	if !slices.Equal(a.Placements, b.Placements) {
		return false
	}
	for id, place := range b.Places {
		if was := a.Places[id]; was == nil || !slices.Equal(was.Stays, place.Stays) {
			if was != nil || len(place.Stays) > 0 {
				return false
			}
		}
	}
	return true
}
