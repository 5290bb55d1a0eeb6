package monitor

import (
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// reconcile follows the eggs from one state of the book to the next: new ones
// and those whose past changed are replayed, ended ones get their last
// estimate, and whatever the book says otherwise of an egg is estimated before
// the rest. Caller holds mu.
func (m *Monitor) reconcile(before, after *book.State) {
	for id, egg := range after.Eggs {
		old := before.Eggs[id]
		if old != nil && taught(before, after, old, egg) {
			m.eggs.teach()
		}
		if egg.Live() {
			delete(m.eggs.past, id)
		}
		switch {
		case old == nil, m.pastChanged(before, after, old, egg):
			m.eggs.want(id)
			if !egg.Live() {
				delete(m.eggs.tracks, id)
			}
		case old.Live() && !egg.Live():
			m.end(id, egg, after)
		case !egg.Live(), m.sameQuestion(before, after, old, egg):
			continue
		}
		m.eggs.due[egg.Clutch] = 0
	}
	if !slices.Equal(before.Placements, after.Placements) {
		m.askOfShelves()
	}
	for id := range before.Eggs {
		if after.Eggs[id] == nil {
			delete(m.eggs.tracks, id)
			delete(m.eggs.estimates, id)
			delete(m.eggs.wanted, id)
			delete(m.eggs.past, id)
			m.eggs.teach()
		}
	}
}

// askOfShelves has the records read again that rest on a shelf: a probe that
// lay in the box for some days may have told of it. Caller holds mu.
func (m *Monitor) askOfShelves() {
	for id, track := range m.eggs.tracks {
		if len(track.Shelves()) > 0 {
			m.eggs.want(id)
		}
	}
}

// end gives an egg that has hatched or failed its last estimate. One whose
// record is not there, as while it is being replayed, is replayed to its end.
func (m *Monitor) end(id string, egg *incubation.Egg, after *book.State) {
	track := m.eggs.tracks[id]
	if track == nil {
		m.eggs.want(id)
		return
	}
	delete(m.eggs.tracks, id)
	m.ended(egg, track)
}

// ended keeps an ended egg's record, and what the ensemble that ships says of
// it: that has never seen what became of the egg.
func (m *Monitor) ended(egg *incubation.Egg, track *incubation.Track) {
	track = track.Under(m.opt.Ensemble)
	e := track.Estimate(m.question(m.book, egg, egg.Ended))
	m.eggs.estimates[egg.ID] = &e
	m.eggs.past[egg.ID] = track
	m.eggs.teach()
}

// sameQuestion reports whether the book says the same of a live egg's future
// and of when it was last known to be alive.
func (m *Monitor) sameQuestion(before, after *book.State, old, egg *incubation.Egg) bool {
	a, b := m.question(before, old, m.clock.now), m.question(after, egg, m.clock.now)
	return a.AliveAt.Equal(b.AliveAt) && slices.Equal(a.Plan, b.Plan)
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
	s := span{b.Laid.From, m.eggs.folded}
	for _, t := range s.moments(append(changes(before, old), changes(after, egg)...)) {
		x := incubation.Sources(before.Room(), old.Stays, t)
		y := incubation.Sources(after.Room(), egg.Stays, t)
		// What a placement's end is does not matter to the stretch it covers.
		if !slices.EqualFunc(x, y, func(a, b incubation.Placement) bool {
			return a.Probe == b.Probe && a.Position == b.Position &&
				a.Accuracy == b.Accuracy && a.Offset == b.Offset && a.Gain == b.Gain && a.Shelf == b.Shelf
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

// changes gives the times at which the probes that speak for an egg may have
// changed: it was moved, or its box, or a probe of either.
func changes(b *book.State, egg *incubation.Egg) []time.Time {
	var out []time.Time
	add := func(stays ...incubation.Stay) {
		for _, s := range stays {
			out = append(out, s.From)
			if !s.To.IsZero() {
				out = append(out, s.To)
			}
		}
	}
	near := map[string]bool{}
	add(egg.Stays...)
	for _, stay := range egg.Stays {
		place := b.Places[stay.Place]
		if place == nil || near[place.ID] {
			continue
		}
		near[place.ID] = true
		add(place.Stays...)
		for _, outer := range place.Stays {
			near[outer.Place] = true
		}
	}
	for _, p := range b.Placements {
		if near[p.Stay.Place] {
			add(p.Stay)
		}
	}
	return out
}

// A span is a stretch of time, its end not included.
type span struct{ from, to time.Time }

// moments gives the middle of a block in each part of the span that lies
// between two changes: one of each is enough to know what holds in all.
func (s span) moments(changes []time.Time) []time.Time {
	const half = incubation.BlockLength / 2
	var out []time.Time
	for _, t := range append(changes, s.from.Truncate(incubation.BlockLength)) {
		middle := t.Truncate(incubation.BlockLength).Add(half)
		if middle.Before(t) {
			middle = middle.Add(incubation.BlockLength)
		}
		if !middle.Before(s.from.Truncate(incubation.BlockLength)) && middle.Add(-half).Before(s.to) {
			out = append(out, middle)
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return slices.CompactFunc(out, time.Time.Equal)
}
