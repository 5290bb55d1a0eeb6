package monitor

import (
	"fmt"
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A company is what is learned of a probe to tell it by: the level it keeps
// while nothing is done to its place, and how much of the thermostat's swing
// gets to it. It is learned anew whenever key changes.
type company struct {
	key     string
	blocks  [6]float64 // the last hour's means, oldest first
	n       int        // of them
	level   difference // °C
	away    int        // blocks in a row that are away from the level
	ripple  ripple
	lag     difference // the share of the ripple outside that reaches it
	follows int        // blocks in a row with much more than that
	still   int        // blocks in a row in which neither it nor the air around went one way
	calm    int        // blocks in a row that speak against a verdict
	rest    time.Time  // see frozenBeside
	others  float64    // °C: what is beside it, when the rest began
}

// keyOf names what a probe's level depends on: where it lies, and the
// thermostat.
func keyOf(b *book.State, at incubation.Placement, now time.Time) string {
	place := at.Stay.Place
	in := ""
	if p := b.Places[place]; p != nil {
		in = incubation.At(p.Stays, now)
	}
	set := "–"
	if c := b.SetpointAt(place, now); c != nil {
		set = fmt.Sprint(*c)
	}
	return fmt.Sprint(place, " ", in, " ", at.Stay.From.Unix(), " ", set)
}

// see takes a block's mean.
func (c *company) see(celsius float64, learn bool) {
	copy(c.blocks[:], c.blocks[1:])
	c.blocks[len(c.blocks)-1] = celsius
	c.n = min(c.n+1, len(c.blocks))
	if learn {
		c.level.learn(celsius, incubation.BlockLength)
	}
}

// lately is the mean of the last blocks; false: there are not so many.
func (c *company) lately(blocks int) (float64, bool) {
	sum := 0.0
	for _, b := range c.blocks[len(c.blocks)-blocks:] {
		sum += b
	}
	return sum / float64(blocks), c.n >= blocks
}

// newest is the last block's mean.
func (c *company) newest() float64 { return c.blocks[len(c.blocks)-1] }

// usual is the level that it keeps; false: not learned.
func (c *company) usual() (float64, bool) { return c.level.kelvin, c.level.record >= learnFrom }

// off is how far the newest block is from the level it keeps.
func (c *company) off() (float64, bool) {
	l, ok := c.usual()
	return c.newest() - l, ok && c.n > 0
}

// left is the largest step of the last hour away from its level: on the way back
// to it from wherever its place was, a box moves as fast.
func (c *company) left() float64 {
	l, _ := c.usual()
	most := 0.0
	for i := len(c.blocks) - c.n + 1; i < len(c.blocks); i++ {
		if math.Abs(c.blocks[i]-l) > math.Abs(c.blocks[i-1]-l) {
			most = max(most, math.Abs(c.blocks[i]-c.blocks[i-1]))
		}
	}
	return most
}

// went is how far the last hour's blocks lie apart.
func (c *company) went() float64 {
	if c.n == 0 {
		return 0
	}
	last := c.blocks[len(c.blocks)-c.n:]
	return slices.Max(last) - slices.Min(last)
}

// leans is how far the later half of the last hour lies from the earlier: a
// swing is as much up as down by then, a slope is not.
func (c *company) leans() float64 {
	half := len(c.blocks) / 2
	if c.n < len(c.blocks) {
		return c.went()
	}
	off := 0.0
	for i := range half {
		off += c.blocks[half+i] - c.blocks[i]
	}
	return math.Abs(off) / float64(half)
}

// A ripple is how much a value swings, block by block, about its own mean of
// half an hour. What swings on does so in most blocks. A door that was open for
// minutes makes one large block of the air, half of which a slow probe misses,
// and hours of small ones of a box: a mean of both would call that the same.
type ripple struct {
	at      time.Time
	mean    float64
	block   taker // of squares, K²
	squares []float64
}

const (
	rippleOver  = 30 * time.Minute
	rippleLeast = 6  // blocks
	rippleMost  = 12 // blocks
)

func (r *ripple) see(at time.Time, celsius float64) {
	dt := at.Sub(r.at)
	if r.at.IsZero() || dt > rippleOver || dt < 0 {
		*r = ripple{at: at, mean: celsius}
		return
	}
	r.at = at
	off := celsius - r.mean
	r.mean += off * share(dt, rippleOver)
	r.block.sum += off * off
	r.block.n++
}

// close ends a block.
func (r *ripple) close() {
	if square, ok := r.block.take(); ok {
		r.squares = append(r.squares, square)
		r.squares = r.squares[max(0, len(r.squares)-rippleMost):]
	}
}

// usual is the median of the last blocks' squares, K²; false: there are too few.
func (r *ripple) usual() (float64, bool) {
	return middle(r.squares), len(r.squares) >= rippleLeast
}

// A taker gathers one block of a probe's readings.
type taker struct {
	sum float64
	n   int
}

func (t *taker) take() (float64, bool) {
	v, n := t.sum/float64(max(t.n, 1)), t.n
	*t = taker{}
	return v, n > 0
}

// keepCompany looks, once a block, at what each probe says beside the others,
// and settles what is thought of each. Caller holds mu.
func (m *Monitor) keepCompany(now time.Time) {
	block := now.Truncate(incubation.BlockLength)
	if !m.clock.trusted || m.quiet || !block.After(m.company) {
		return
	}
	first := m.company.IsZero()
	m.company = block
	said := map[string]float64{}
	for id, s := range m.probes {
		v, ok := s.trusted.block.take()
		at, placed := placement(m.book, id, now)
		if first || !placed {
			continue
		}
		c := &s.trusted.company
		c.ripple.close()
		if key := keyOf(m.book, at, now); key != c.key {
			*c = company{key: key, ripple: c.ripple}
			s.trusted.settle(incubation.Good, "", "")
		}
		if ok {
			verdict := s.trusted.verdict
			c.see(v, !verdict.Broken() && verdict != incubation.Swapped && !c.strays(v))
			said[id] = v
		}
	}
	m.frozenBeside(said)
	m.swapped(said) // first: of two that went at once neither fell
	m.slipped(said, now)
	m.drifting(said, now)
}

// strays reports whether a block is too far from the level to be learned from
// at once: what made it so is to be found out first.
func (c *company) strays(v float64) bool {
	l, ok := c.usual()
	if !ok || math.Abs(v-l) < strayBy {
		c.away = 0
		return false
	}
	c.away++
	return c.away <= strayFor
}

const (
	// strayBy is how far a block may be from the level and be one of it, K.
	// strayFor is for how many blocks one that is further teaches nothing: what
	// is not explained by then is the new level. Judgement.
	strayBy  = 0.4
	strayFor = 36
)

// settle sets what is thought of a probe, and why.
func (h *heard) settle(q incubation.Quality, because, partners string) {
	h.verdict, h.because, h.partners = q, because, partners
	h.company.calm = 0
}

// inIncubator gives the incubator that a probe's box stands in, "" if it is in
// no box, or the box in none.
func (m *Monitor) inIncubator(probe string, now time.Time) string {
	at, ok := placement(m.book, probe, now)
	if !ok {
		return ""
	}
	p := m.book.Places[at.Stay.Place]
	if p == nil || p.Kind != incubation.Box {
		return ""
	}
	in := incubation.At(p.Stays, now)
	if q := m.book.Places[in]; q == nil || q.Kind != incubation.Incubator {
		return ""
	}
	return in
}

// around gives the probes in a place that said something, sorted.
func (m *Monitor) around(place string, said map[string]float64, now time.Time) []string {
	var out []string
	for id := range said {
		if at, ok := placement(m.book, id, now); ok && at.Stay.Place == place && !m.probes[id].trusted.verdict.Doubtful() {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}
