package review

import (
	"maps"
	"slices"
	"time"

	"clutchd/incubation"
)

// Replay makes an egg's record from the readings alone, where no running
// program has one: without what the rest of the room tells of gaps and
// shelves. Nil for an egg that is not in the book.
func (a Asked) Replay(egg string, e *incubation.Ensemble) *incubation.Track {
	one := a.Book.Eggs[egg]
	if one == nil || a.Readings == nil || a.Book.Clutches[one.Clutch] == nil {
		return nil
	}
	laid := a.Book.Clutches[one.Clutch].Laid
	span := Span{laid.From.Truncate(incubation.BlockLength), a.Now}
	if !one.Live() && one.Ended.Before(span.To) && !one.Ended.IsZero() {
		span.To = one.Ended
	}
	said := map[time.Time]map[string]incubation.Block{}
	for _, probe := range a.speakers(one, span) {
		for _, b := range a.blocks(probe, span, e.Profile.Limits) {
			if said[b.Start] == nil {
				said[b.Start] = map[string]incubation.Block{}
			}
			said[b.Start][probe] = b
		}
	}
	track := incubation.NewTrack(e, laid)
	for _, start := range slices.SortedFunc(maps.Keys(said), time.Time.Compare) {
		sources := incubation.Sources(a.Book.Room(), one.Stays, start.Add(incubation.BlockLength/2))
		if piece, ok := incubation.Piece(sources, said[start]); ok {
			_ = track.Add(piece) // refused only before the laying, and then it does not count
		}
	}
	return track
}

// speakers are the probes that spoke for an egg at any time of a span.
func (a Asked) speakers(egg *incubation.Egg, s Span) []string {
	set := map[string]bool{}
	for _, part := range Stretches(a.Book, egg.Stays, s.From, s.To) {
		for _, p := range incubation.Sources(a.Book.Room(), egg.Stays, part.From) {
			set[p.Probe] = true
		}
	}
	return slices.Sorted(maps.Keys(set))
}

// blocks reads a probe in a span, corrected and aligned.
func (a Asked) blocks(probe string, s Span, limits incubation.LimitSet) []incubation.Block {
	aligner := incubation.Aligner{Limits: limits}
	if a.Accuracy != nil {
		aligner.Accuracy = a.Accuracy(probe)
	}
	var out []incubation.Block
	keep := func(b incubation.Block, closed bool) {
		if closed {
			out = append(out, b)
		}
	}
	for r, err := range a.Readings(probe, s.From, s.To) {
		if err != nil {
			continue // a hole
		}
		for _, p := range slices.Backward(a.Book.Placements) {
			if p.Probe == probe && p.Stay.Covers(r.Time) {
				r = p.Correct(r)
				break
			}
		}
		keep(aligner.Add(r))
	}
	keep(aligner.Close(s.To.Add(incubation.BlockLength)))
	return out
}
