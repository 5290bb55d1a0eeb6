package review

import (
	"slices"
	"time"
)

// GapIntervals is how many of a probe's own intervals without a reading make
// a gap: as the rule "stale" has it.
const GapIntervals = 5

// Steps up to shortestGap are never a gap, steady ones beyond rhythmMost always.
const (
	shortestGap = 5 * time.Minute
	rhythmMost  = 30 * time.Minute
)

// A GapWatch watches one probe's times for stretches without any. A long step
// that has a neighbour of about its length is a slower rhythm, as of a logger's
// file or an older setting, and no gap, up to half an hour.
type GapWatch struct {
	last   time.Time
	most   time.Duration
	before time.Duration // the step before the one in doubt
	doubt  Span          // a long step whose next one is not known yet
	found  []Span
}

// NewGapWatch begins at a time from which on the probe should have spoken.
func NewGapWatch(from time.Time, interval time.Duration) *GapWatch {
	return &GapWatch{last: from, most: max(shortestGap, GapIntervals*interval)}
}

// Seen takes the time of a reading; times come in order.
func (g *GapWatch) Seen(t time.Time) {
	step := t.Sub(g.last)
	if step <= 0 {
		return
	}
	g.settle(step)
	if step > g.most && (step > rhythmMost || !alike(step, g.before)) {
		g.doubt = Span{g.last, t}
	}
	g.before, g.last = step, t
}

// settle decides about the step in doubt, now that its next one is known.
func (g *GapWatch) settle(next time.Duration) {
	if long := g.doubt.To.Sub(g.doubt.From); long > rhythmMost || long > 0 && !alike(long, next) {
		g.found = append(g.found, g.doubt)
	}
	g.doubt = Span{}
}

// End closes the watch at t and gives the gaps, in order.
func (g *GapWatch) End(t time.Time) []Span {
	g.Seen(t)
	g.settle(0)
	return g.found
}

func alike(a, b time.Duration) bool { return a <= 2*b && b <= 2*a }

// Both gives the stretches that lie in one of each: another probe's readings
// close a gap. Both lists are in order and do not overlap in themselves.
func Both(a, b []Span) []Span {
	var out []Span
	for i, j := 0, 0; i < len(a) && j < len(b); {
		from, to := later(a[i].From, b[j].From), earlier(a[i].To, b[j].To)
		if from.Before(to) {
			out = append(out, Span{from, to})
		}
		if a[i].To.Before(b[j].To) {
			i++
		} else {
			j++
		}
	}
	return out
}

// Joined puts stretches that touch or overlap together, in order.
func Joined(list []Span) []Span {
	slices.SortFunc(list, func(a, b Span) int { return a.From.Compare(b.From) })
	var out []Span
	for _, g := range list {
		if n := len(out); n > 0 && !g.From.After(out[n-1].To) {
			out[n-1].To = later(out[n-1].To, g.To)
			continue
		}
		out = append(out, g)
	}
	return out
}

// without gives the parts of a stretch that lie in none of the holes, which
// are in order and do not overlap.
func (s Span) without(holes []Span) []Span {
	var out []Span
	at := s.From
	for _, h := range holes {
		if h.From.After(at) && at.Before(s.To) {
			out = append(out, Span{at, earlier(h.From, s.To)})
		}
		at = later(at, h.To)
	}
	if at.Before(s.To) {
		out = append(out, Span{at, s.To})
	}
	return out
}

func (s Span) covers(t time.Time) bool { return !t.Before(s.From) && t.Before(s.To) }

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
