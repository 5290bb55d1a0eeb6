package monitor

import (
	"cmp"
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
	firsts    int                  // how many live eggs got a first estimate
	males     map[string][]float64 // by clutch
	due       map[string]uint64    // clutches to be estimated anew, and the round they fell due in
	round     uint64
	wanted    map[string]bool              // eggs whose record must be replayed
	past      map[string]*incubation.Track // eggs that ended, whose record is whole
	ensemble  *incubation.Ensemble         // of live eggs; nil: the one that ships
	lesson    Lesson
	untaught  bool      // outcomes changed since they were learned from
	settled   bool      // they were learned from once
	gaveWay   int       // how often learning was broken off in a row; the replay loop's own
	folded    time.Time // end of what is folded
	open      map[time.Time]map[string]incubation.Block
	recent    []blockSet
	shelves   map[string]shelfLesson // by incubation.ShelfName
	wake      chan struct{}
}

func (w *eggWatch) init() {
	w.tracks = map[string]*incubation.Track{}
	w.past = map[string]*incubation.Track{}
	w.estimates = map[string]*incubation.Estimate{}
	w.males = map[string][]float64{}
	w.due, w.wanted = map[string]uint64{}, map[string]bool{}
	w.open = map[time.Time]map[string]incubation.Block{}
	w.shelves = map[string]shelfLesson{}
	w.wake = make(chan struct{}, 1)
}

// begin starts the fold at now: what lies before is the history's.
func (w *eggWatch) begin(now time.Time) {
	w.folded = now.Truncate(incubation.BlockLength)
	w.open, w.recent = map[time.Time]map[string]incubation.Block{}, nil
}

// fallDue has a clutch estimated anew. One that waits already keeps its place.
func (w *eggWatch) fallDue(clutch string) {
	if _, waits := w.due[clutch]; !waits {
		w.due[clutch] = w.round
	}
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
			if track.Unasked() {
				w.want(id)
			}
		}
	}
	w.folded = until
	w.recent = slices.DeleteFunc(w.recent, func(s blockSet) bool {
		return s.start.Before(until.Add(-keepBlocks))
	})
	w.round++
	for id := range w.tracks {
		w.fallDue(m.book.Eggs[id].Clutch)
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

// estimate brings clutches' estimates up to date, those that have waited
// longest first, until the tick's budget is spent. Caller holds mu.
func (m *Monitor) estimate(now time.Time) {
	due := slices.SortedFunc(maps.Keys(m.eggs.due), func(a, b string) int {
		return cmp.Or(cmp.Compare(m.eggs.due[a], m.eggs.due[b]), cmp.Compare(a, b))
	})
	began := time.Now()
	for _, id := range due {
		delete(m.eggs.due, id)
		m.estimateClutch(id, now)
		if time.Since(began) >= estimateBudget {
			return
		}
	}
}

func (m *Monitor) estimateClutch(id string, now time.Time) {
	delete(m.eggs.males, id)
	clutch := m.book.Clutches[id]
	if clutch == nil {
		return
	}
	var live []incubation.Answer
	for _, egg := range clutch.Eggs {
		track := m.eggs.tracks[egg.ID]
		if track == nil || !egg.Live() {
			continue
		}
		q := m.question(m.book, egg, now)
		q.Holds = true
		a := track.Ask(q)
		live = append(live, a)
		if m.eggs.estimates[egg.ID] == nil {
			m.eggs.firsts++
		}
		m.eggs.estimates[egg.ID] = &a.Estimate
	}
	if len(live) > 0 {
		m.eggs.males[id] = incubation.Males(live)
	}
}

// question is what is asked about an egg at a time: the plan in force, as its
// places keep to it, and what the book knows of the egg. Caller holds mu.
func (m *Monitor) question(b *book.State, egg *incubation.Egg, now time.Time) incubation.Question {
	q := incubation.Question{Now: now}
	if egg.Live() {
		q.Plan = b.PlanStepsOff(egg.ID, now, func(place string) incubation.Celsius {
			return m.offDial(b, egg, place, now)
		})
		// That nobody wrote a hatch down does not say that there was none.
		q.AliveAt, q.PippedAt = egg.AliveAt, egg.PippedAt
	}
	return q
}
