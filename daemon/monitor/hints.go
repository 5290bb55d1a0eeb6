package monitor

import (
	"context"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

const (
	// shelfBack is how much of a shelf's history is read to learn it.
	shelfBack = 60 * 24 * time.Hour
	// shelfKeeps is for how long what was learned of a shelf is taken as it is.
	shelfKeeps = 24 * time.Hour
	// coolRoom is what an outage cools towards where no probe says, °C, unless
	// a neighbour got colder. Judgement: the room is warm because of its
	// cabinets.
	coolRoom = 22
)

// A shelfLesson is what was learned of a shelf.
type shelfLesson struct {
	shelf *incubation.Shelf
	at    time.Time
}

// hint tells an egg's record what the rest of the room says of it: how the
// shelves differ that only their incubator was measured of, and whether the
// neighbours lost their heat while nothing was read. It reads the history and
// runs beside the tick.
func (m *Monitor) hint(ctx context.Context, t task, egg *incubation.Egg, track *incubation.Track) {
	for _, name := range track.Shelves() {
		track.SetShelf(name, m.shelfLearned(ctx, t, name))
	}
	var outages []incubation.Outage
	for _, gap := range track.Gaps() {
		if o, told := m.outageIn(ctx, t.book, egg, span{gap.From, gap.To}); told {
			outages = append(outages, o)
		}
	}
	track.SetOutages(outages)
}

func (m *Monitor) shelfLearned(ctx context.Context, t task, name string) *incubation.Shelf {
	m.mu.Lock()
	known, ok := m.eggs.shelves[name]
	m.mu.Unlock()
	if ok && t.until.Sub(known.at).Abs() < shelfKeeps {
		return known.shelf
	}
	box, in, _ := strings.Cut(name, "@")
	var own, around []incubation.Block
	for _, s := range together(t.book, box, in, t.until) {
		own = append(own, m.measured(ctx, t.book, box, s)...)
		around = append(around, m.measured(ctx, t.book, in, s)...)
	}
	shelf, ok := incubation.LearnShelf(own, around, m.opt.Ensemble.Profile.Record)
	if !ok {
		return nil
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.eggs.shelves[name] = shelfLesson{&shelf, t.until}
	return &shelf
}

// together gives the spans in which a box with a probe of its own stood in an
// incubator.
func together(b *book.State, box, in string, until time.Time) []span {
	place := b.Places[box]
	if place == nil {
		return nil
	}
	var out []span
	for _, stay := range place.Stays {
		if stay.Place != in {
			continue
		}
		for _, p := range b.Placements {
			if p.Stay.Place != box {
				continue
			}
			s := span{later(later(stay.From, p.Stay.From), until.Add(-shelfBack)), until}
			for _, end := range []time.Time{stay.To, p.Stay.To} {
				if !end.IsZero() && end.Before(s.to) {
					s.to = end
				}
			}
			if s.from.Before(s.to) {
				out = append(out, s)
			}
		}
	}
	return out
}

// measured gives the blocks of the probes of a place itself in a span, each
// with its position and accuracy there.
func (m *Monitor) measured(ctx context.Context, b *book.State, place string, s span) []incubation.Block {
	var out []incubation.Block
	for _, p := range b.Placements {
		if p.Stay.Place != place || !p.Stay.From.Before(s.to) || !p.Stay.To.IsZero() && !p.Stay.To.After(s.from) {
			continue
		}
		for _, block := range m.blocks(ctx, b, p.Probe, s) {
			if !p.Stay.Covers(block.Start) {
				continue
			}
			block.Position = p.Position
			if p.Accuracy > 0 {
				block.Accuracy = p.Accuracy
			}
			out = append(out, block)
		}
	}
	return out
}

// outageIn says what the neighbours of an egg's incubator tell of a span in
// which nothing was read of it: an outage only if all that were measured
// cooled.
func (m *Monitor) outageIn(ctx context.Context, b *book.State, egg *incubation.Egg, s span) (incubation.Outage, bool) {
	middle := s.from.Add(s.to.Sub(s.from) / 2)
	own := map[string]bool{}
	for place := incubation.At(egg.Stays, middle); place != "" && !own[place]; {
		own[place] = true
		if p := b.Places[place]; p != nil {
			place = incubation.At(p.Stays, middle)
		}
	}
	var out incubation.Outage
	cooled, room := 0, []incubation.Block(nil)
	for _, p := range b.Placements {
		place := b.Places[p.Stay.Place]
		if place == nil || own[place.ID] || !p.Stay.Covers(middle) {
			continue
		}
		switch place.Kind {
		case incubation.Room:
			room = append(room, m.blocks(ctx, b, p.Probe, s)...)
		case incubation.Incubator, incubation.Box:
			blocks := m.blocks(ctx, b, p.Probe, span{s.from.Add(-time.Hour), s.to})
			o, told := incubation.Cooled(blocks)
			if !told && len(blocks) > 0 && covers(blocks, s) {
				return incubation.Outage{}, false // this one kept its heat
			}
			if told && (cooled == 0 || o.From.Before(out.From)) {
				out = o
			}
			if told {
				cooled++
			}
		}
	}
	out.Room = min(out.Room, coolRoom)
	if len(room) > 0 {
		out.Room = 0
		for _, r := range room {
			out.Room += r.Celsius / incubation.Celsius(len(room))
		}
	}
	return out, cooled > 0
}

// covers reports whether blocks tell of most of a span.
func covers(blocks []incubation.Block, s span) bool {
	heard := time.Duration(0)
	for _, b := range blocks {
		if !b.Start.Before(s.from) {
			heard += incubation.BlockLength
		}
	}
	return 2*heard > s.to.Sub(s.from)
}
