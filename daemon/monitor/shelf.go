package monitor

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

const (
	// learnFor is the time constant of a box's learned difference from its
	// incubator, learnFrom how much of a record it needs before it counts.
	learnFor  = 12 * time.Hour
	learnFrom = 12 * time.Hour
	// learnBack is how much of the history is read to learn it again.
	learnBack = 4 * learnFor
	// wobbleFor is the time constant of a shelf's learned wobble; it counts after
	// wobbleFrom, a day and a night.
	wobbleFor  = 72 * time.Hour
	wobbleFrom = 24 * time.Hour
	// wobbleMost is the most that may be made of it, K, and what is until it is
	// known. A shelf's difference grows as the room cools by night; in the
	// simulated year it wobbles by 0.2 K at most. Judgement.
	wobbleMost = 0.3
	// steadyMost is how large a shelf's steady difference may be and still be
	// called one, K: shelves of a cabinet differ by 1 to 2.
	steadyMost = 2.0
)

// A difference is a box's learned one from its incubator.
type difference struct {
	kelvin float64
	record time.Duration // how much is behind it
}

// learn takes the difference seen over the last dt.
func (d *difference) learn(kelvin float64, dt time.Duration) {
	if dt <= 0 {
		return // two ticks at one time teach nothing
	}
	if d.record == 0 {
		d.kelvin = kelvin
	}
	d.kelvin += (kelvin - d.kelvin) * max(share(dt, learnFor), share(dt, d.record+dt))
	d.record += dt
}

// known is the difference, nil until it is learned.
func (d difference) known() *float64 {
	if d.record < learnFrom {
		return nil
	}
	return ptr(math.Round(d.kelvin*100) / 100)
}

// A wobble is how far a shelf's difference goes, by day and night and with the
// weather, from what it has been over half a day. Its zero value is not known.
type wobble struct {
	square float64 // K²
	record time.Duration
}

// learn takes the difference seen over the last dt, of half-hour means.
func (b *wobble) learn(usual difference, kelvin float64, dt time.Duration) {
	if usual.record < learnFrom || dt <= 0 {
		return
	}
	off := kelvin - usual.kelvin
	b.square += (off*off - b.square) * max(share(dt, wobbleFor), share(dt, b.record+dt))
	b.record += dt
}

// kelvin is how far from its usual difference a shelf may be by itself: two of
// its own deviations.
func (b wobble) kelvin() float64 {
	if b.record < wobbleFrom {
		return wobbleMost
	}
	return min(wobbleMost, 2*math.Sqrt(b.square))
}

// steady is how far from the setpoint a place may be taken to be for good, K:
// the learned difference, as far as it can be one of shelves.
func (w *placeWatch) steady() float64 {
	if w == nil || w.differs.known() == nil {
		return 0
	}
	return max(-steadyMost, min(steadyMost, *w.differs.known()))
}

// learning reports whether the place may turn out to be on a warm or cool
// shelf, which nobody knows yet. What it stands in is measured meanwhile, and
// judged for both.
func (w *placeWatch) learning(outer *incubation.Celsius) bool {
	return w.shelf != "" && outer != nil && w.differs.known() == nil &&
		math.Abs(w.smooth-float64(*outer)) <= steadyMost
}

// A shelf is a box in an incubator, both with probes: as long as that stays
// the same, their difference is learned.
type shelf struct {
	box, in    string
	own, outer []string // probes
	from       time.Time
}

// key names the shelf; another one has another.
func (s shelf) key() string {
	return fmt.Sprint(s.in, s.own, s.outer, s.from.Unix())
}

// shelfOf gives the shelf that a box is on; false: it is on none, or nothing
// can be learned of it.
func shelfOf(b *book.State, place string, now time.Time) (shelf, bool) {
	box := b.Places[place]
	if box == nil || box.Kind != incubation.Box {
		return shelf{}, false
	}
	s := shelf{box: place}
	for _, stay := range box.Stays {
		if stay.Covers(now) {
			s.in, s.from = stay.Place, stay.From
		}
	}
	if in := b.Places[s.in]; in == nil || in.Kind != incubation.Incubator {
		return shelf{}, false
	}
	for _, p := range b.Placements {
		if !p.Stay.Covers(now) {
			continue
		}
		switch p.Stay.Place {
		case s.box:
			s.own = append(s.own, p.Probe)
		case s.in:
			s.outer = append(s.outer, p.Probe)
		default:
			continue
		}
		s.from = later(s.from, p.Stay.From)
	}
	return s, len(s.own) > 0 && len(s.outer) > 0
}

// learnAgain learns the shelves from the history, as after a start, so that a
// restart does not make news of what was known.
func (m *Monitor) learnAgain(ctx context.Context) {
	m.mu.Lock()
	b, now := m.book, m.clock.now
	var all []shelf
	if m.relearn && m.clock.trusted && !m.quiet {
		m.relearn = false
		for id := range m.watch {
			if s, ok := shelfOf(b, id, now); ok {
				all = append(all, s)
			}
		}
	}
	m.mu.Unlock()
	for _, s := range all {
		d, by := m.differenceOf(ctx, b, s, now)
		m.mu.Lock()
		if w := m.watch[s.box]; w != nil && w.shelf == s.key() && w.differs.record < d.record {
			w.differs, w.wobbles = d, by
		}
		m.mu.Unlock()
	}
}

// differenceOf learns a shelf from the history up to now.
func (m *Monitor) differenceOf(ctx context.Context, b *book.State, s shelf, now time.Time) (difference, wobble) {
	stretch := span{later(s.from, now.Add(-learnBack)), now}
	own, outer := m.means(ctx, b, s.own, stretch), m.means(ctx, b, s.outer, stretch)
	var d difference
	var by wobble
	smooth := 0.0
	for _, start := range sortedTimes(own) {
		inside, around := own[start], outer[start]
		box, _ := inside.value()
		air, ok := around.value()
		if !ok || start.Before(settledAt(b, s.box, start)) {
			continue
		}
		if d.record == 0 {
			smooth = box - air
		}
		smooth += (box - air - smooth) * share(incubation.BlockLength, smoothFor)
		by.learn(d, smooth, incubation.BlockLength)
		d.learn(box-air, incubation.BlockLength)
	}
	return d, by
}

// means gives the mean of what probes said in a span, by block.
func (m *Monitor) means(ctx context.Context, b *book.State, probes []string, s span) map[time.Time]mean {
	out := map[time.Time]mean{}
	for _, p := range probes {
		for _, block := range m.blocks(ctx, b, p, s) {
			sum := out[block.Start]
			sum.add(float64(block.Celsius))
			out[block.Start] = sum
		}
	}
	return out
}

func sortedTimes[V any](by map[time.Time]V) []time.Time {
	out := make([]time.Time, 0, len(by))
	for t := range by {
		out = append(out, t)
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
