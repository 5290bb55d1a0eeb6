package book

import "time"

// A Telling is a book that is read in the order of what happened, to see the
// room as it was at each time: with what was written down later, and without
// what was taken back since. It folds the book once, however many times are
// asked for. Use it from one goroutine.
type Telling struct {
	left  []Entry // by event time and sequence, those taken back left out
	lines []read  // of left
	state *State
}

// Tell begins a telling before the first entry.
func Tell(entries []Entry) *Telling {
	t := &Telling{state: empty()}
	all := ordered(entries)
	lines := shapedAll(all)
	t.state.Voided = voided(all, lines)
	for i, e := range all {
		if !t.state.Voided[e.Seq] {
			t.left, t.lines = append(t.left, e), append(t.lines, lines[i])
		}
	}
	return t
}

// Before gives the room by what happened before the given time, and whether
// anything did since the last call. Times must not go back. The state is
// changed in place by the next call. It lists no Entries and no Problems.
func (t *Telling) Before(at time.Time) (s *State, changed bool) {
	for len(t.left) > 0 && t.left[0].At.Before(at) {
		e, r := t.left[0], t.lines[0]
		t.left, t.lines = t.left[1:], t.lines[1:]
		t.state.LastSeq = max(t.state.LastSeq, e.Seq)
		if p := t.state.take(e, r); p != nil {
			t.state.Skipped = append(t.state.Skipped, e.Seq)
		}
		changed = true
	}
	return t.state, changed
}
