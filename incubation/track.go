package incubation

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"time"
)

// ErrBackward is returned for a block that does not follow the last one.
var ErrBackward = errors.New("block does not follow the one before")

// A Track is one laying's temperature record: what was measured where the egg
// lay, in aligned steps with sums over half days, ready to be gone through by
// every member of an ensemble. Adding a block takes the same time on the first
// day and on the last. What a member makes of the record is worked out when
// it is asked for, from the record alone: a track fed in pieces is the track
// fed at once, bit for bit, and another ensemble needs no record read again.
//
// A track may be read by several goroutines, but not while it is changed.
type Track struct {
	ensemble *Ensemble
	laid     Laying
	epoch    time.Time // the earliest laying: day 0
	laying   float64   // length of the laying interval, days
	sources  []source
	parts    []part
	last     Block // zero before the first
	wander   wander
	harm     Harm
	shelves  map[string]*Shelf
	outages  []Outage
	// askedGaps is for how many gaps the neighbours were asked.
	askedGaps int
	without   Doubt // put aside
}

// A part of a record is a run, or the gap that leads to the next.
type part struct {
	run *run
	gap gap // where run is nil
}

// NewTrack starts the record of a laying.
func NewTrack(e *Ensemble, laid Laying) *Track {
	t := &Track{ensemble: e, laid: laid, epoch: laid.From.UTC()}
	if laid.To.After(laid.From) {
		t.laying = days(laid.To.Sub(laid.From))
	}
	t.harm = harmOf(e.Profile.Limits)
	return t
}

// Under gives the record as it is now under another ensemble, or its own. Of the
// two one may be added to while the other is read, never both: they share what
// is written behind their ends.
func (t *Track) Under(e *Ensemble) *Track {
	out := *t
	out.ensemble = e
	out.sources, out.shelves = slices.Clone(t.sources), maps.Clone(t.shelves)
	out.parts = slices.Clone(t.parts)
	for k := range out.parts {
		if r := out.parts[k].run; r != nil {
			now := *r
			out.parts[k].run = &now
		}
	}
	return &out
}

// Freeze gives the track as it is now, to be read while it is added to.
func (t *Track) Freeze() *Track { return t.Under(t.ensemble) }

// Last gives the newest block; false before the first.
func (t *Track) Last() (Block, bool) { return t.last, !t.last.Start.IsZero() }

// Add takes the next block. One that starts before the last one ended is
// refused with ErrBackward, one whose temperature is no temperature with
// another error, and neither changes anything.
//
// Steps that no block came for are bridged: a few of them along a straight
// line, a gap as bridge says. What lies before the laying does not count.
func (t *Track) Add(b Block) error {
	if c := float64(b.Celsius); !finite(c) || math.Abs(c) > 200 {
		return fmt.Errorf("block of %s at %v: %g is not a temperature", b.Probe, b.Start, c)
	}
	b.Start = b.Start.UTC()
	last, recorded := t.Last()
	if recorded && b.Start.Before(last.End()) {
		return fmt.Errorf("block of %s at %v: %w", b.Probe, b.Start, ErrBackward)
	}
	g := gap{to: t.day(b.Start), end: float64(b.Celsius), source: t.source(b)}
	if recorded {
		g.from, g.start, g.since = t.day(last.End()), float64(last.Celsius), last.Start
	} else {
		g.start, g.open, g.since = g.end, before, b.Start
	}
	t.across(g)
	t.step(g.source, g.to, g.end, 1-min(max(b.Covered, 0), 1))
	t.harm.add(b, t.day(b.End()))
	t.last = b
	return nil
}

// across takes the record over the time since the last block: as steps along
// a line where too few are missing to make a gap.
func (t *Track) across(g gap) {
	if g.to <= g.from || g.to <= 0 {
		return
	}
	if g.counts() {
		t.parts = append(t.parts, part{gap: g})
		return
	}
	n := max(int(math.Round((g.to-g.from)/days(BlockLength))), 1)
	for k := range n {
		x := (float64(k) + 0.5) / float64(n)
		t.step(g.source, g.from+(g.to-g.from)*float64(k)/float64(n), g.line(x), 0)
	}
}

// step adds one step to the run that its source is in, or begins one.
func (t *Track) step(source int, from, celsius, silent float64) {
	length := days(BlockLength)
	if from+length <= 0 {
		return // before the earliest laying
	}
	var r *run
	if n := len(t.parts); n > 0 {
		r = t.parts[n-1].run
	}
	if r == nil || r.source != source || math.Abs(r.to()-from) > length/2 {
		r = &run{source: source, from: from, length: length}
		t.parts = append(t.parts, part{run: r})
	}
	r.add(celsius, silent)
	t.wander.learn(r)
	s := &t.sources[source]
	s.n++
	x := celsius - reference
	s.sum += x
	s.square += x * x
}

// day is a time in days since the earliest laying.
func (t *Track) day(at time.Time) float64 { return days(at.Sub(t.epoch)) }

func days(d time.Duration) float64 { return d.Hours() / 24 }
