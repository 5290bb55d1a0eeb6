package monitor

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// replay computes eggs' records from the history when asked: at the start,
// after a late import or a moved probe. It runs beside the tick; what was
// folded meanwhile is added before the track is put in place.
func (m *Monitor) replay(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-m.eggs.wake:
		}
		m.learnAgain(ctx)
		for ctx.Err() == nil && m.replaySome(ctx) {
		}
		m.recallCourses(ctx)
		if ctx.Err() == nil {
			m.learnOutcomes(ctx)
		}
	}
}

// A task is one replay: eggs of one state of the book.
type task struct {
	book  *book.State
	eggs  []string
	until time.Time
}

// replaySome replays the eggs wanted now and reports whether there were any.
func (m *Monitor) replaySome(ctx context.Context) bool {
	m.mu.Lock()
	t := task{book: m.book, until: m.eggs.folded}
	ready := m.clock.trusted && !m.quiet
	if ready {
		t.eggs = slices.SortedFunc(maps.Keys(m.eggs.wanted), func(a, b string) int {
			return cmp.Or(liveFirst(m.book.Eggs[a], m.book.Eggs[b]), cmp.Compare(a, b))
		})
		clear(m.eggs.wanted)
	}
	m.mu.Unlock()
	if len(t.eggs) == 0 {
		return false
	}
	if err := m.Sync(ctx); err != nil {
		m.opt.Log.Warn("replay without the newest readings", "error", err)
	}
	for _, id := range t.eggs {
		if ctx.Err() != nil {
			return false
		}
		m.replayEgg(ctx, t, id)
	}
	return true
}

// liveFirst puts what someone waits for before what is over.
func liveFirst(a, b *incubation.Egg) int {
	switch {
	case a.Live() == b.Live():
		return 0
	case a.Live():
		return -1
	}
	return 1
}

func (m *Monitor) replayEgg(ctx context.Context, t task, id string) {
	egg := t.book.Eggs[id]
	clutch := t.book.Clutches[egg.Clutch]
	until := t.until
	if !egg.Live() && egg.Ended.Before(until) {
		until = egg.Ended
	}
	m.mu.Lock()
	track := incubation.NewTrack(m.inForce(), clutch.Laid)
	m.mu.Unlock()
	for _, set := range m.sets(ctx, t.book, egg, span{clutch.Laid.From, until}) {
		foldOne(t.book, egg, track, set)
	}
	m.hint(ctx, t, egg, track)
	if ctx.Err() != nil {
		return // the record is not whole
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	now := m.book.Eggs[id]
	switch {
	case ctx.Err() != nil, now == nil:
		return // what was read is not whole, or not needed
	case m.book != t.book && (now.Live() != egg.Live() || m.pastChanged(t.book, m.book, egg, now)):
		m.eggs.want(id) // the book went on
		return
	case !now.Live():
		m.ended(now, track)
		return
	}
	for _, set := range m.eggs.recent {
		if !set.start.Before(t.until) {
			foldOne(m.book, now, track, set)
		}
	}
	m.eggs.tracks[id] = track.Under(m.inForce())
	m.eggs.fallDue(now.Clutch)
}

// sets gives what the probes that ever spoke for an egg said in a span, by
// stretch. One probe's history is read at a time and kept as blocks.
func (m *Monitor) sets(ctx context.Context, b *book.State, egg *incubation.Egg, s span) []blockSet {
	s.from = s.from.Truncate(incubation.BlockLength)
	said := map[time.Time]map[string]incubation.Block{}
	for _, probe := range speakers(b, egg, s) {
		for _, block := range m.blocks(ctx, b, probe, s) {
			if said[block.Start] == nil {
				said[block.Start] = map[string]incubation.Block{}
			}
			said[block.Start][probe] = block
		}
	}
	out := make([]blockSet, 0, len(said))
	for start, blocks := range said {
		out = append(out, blockSet{start: start, blocks: blocks})
	}
	slices.SortFunc(out, func(a, b blockSet) int { return a.start.Compare(b.start) })
	return out
}

// speakers are the probes that spoke for an egg at any time of a span.
func speakers(b *book.State, egg *incubation.Egg, s span) []string {
	set := map[string]bool{}
	for _, t := range s.moments(changes(b, egg)) {
		for _, p := range incubation.Sources(b.Room(), egg.Stays, t) {
			set[p.Probe] = true
		}
	}
	return slices.Sorted(maps.Keys(set))
}

// blocks reads a probe's history in a span, aligned.
func (m *Monitor) blocks(ctx context.Context, b *book.State, probe string, s span) []incubation.Block {
	aligner := m.aligner()
	var out []incubation.Block
	m.mu.Lock()
	accuracy := 0.0
	if p := m.probes[probe]; p != nil {
		accuracy = p.probe.Accuracy
	}
	m.mu.Unlock()
	keep := func(block incubation.Block, closed bool) {
		if closed {
			block.Accuracy = accuracy
			out = append(out, block)
		}
	}
	for r, err := range m.opt.Store.Range(ctx, probe, s.from, s.to) {
		if ctx.Err() != nil {
			break // whoever stopped it wants no track
		}
		if err != nil {
			m.opt.Log.Warn("replay goes on behind a damaged stretch", "probe", probe, "error", err)
			continue
		}
		keep(aligner.Add(correct(b, r)))
	}
	keep(aligner.Close(s.to))
	return out
}

// correct gives a raw reading as the probe's placement corrects it.
func correct(b *book.State, r incubation.Reading) incubation.Reading {
	if p, ok := placement(b, r.Probe, r.Time); ok {
		return p.Correct(r)
	}
	return r
}

// placement is where a probe sat at a time.
func placement(b *book.State, probe string, t time.Time) (incubation.Placement, bool) {
	for _, p := range slices.Backward(b.Placements) {
		if p.Probe == probe && p.Stay.Covers(t) {
			return p, true
		}
	}
	return incubation.Placement{}, false
}
