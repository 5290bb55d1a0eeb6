package incubation

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// ErrBackward is returned for a block that does not follow the last one.
var ErrBackward = errors.New("block does not follow the one before")

// A Track is one laying's temperature record, replayed block by block under
// every member of an ensemble. It holds where each member's egg has come to,
// not the record: adding a block takes the same time on the first day and on
// the last, and a track fed in pieces is the track fed at once, bit for bit.
//
// A track may be read by several goroutines, but not while a block is added.
type Track struct {
	ensemble *Ensemble
	epoch    time.Time // the earliest laying: day 0
	laying   float64   // length of the laying interval, days
	eggs     []egg     // by member
	bias     []float64 // K, by member: egg against the last block's probe
	biasOf   Block     // whose bias that is
	last     Block     // zero before the first
	recent   recent
}

// An egg is one member's egg.
type egg struct {
	course
	spread  spread  // of the TSP so far; empty once settled
	settled bool    // the TSP is over: median and chance are final
	median  float64 // °C
	chance  float64 // of a male
}

// NewTrack starts the record of a laying.
func NewTrack(e *Ensemble, laid Laying) *Track {
	t := &Track{
		ensemble: e, epoch: laid.From.UTC(),
		eggs: make([]egg, len(e.Members)),
		bias: make([]float64, len(e.Members)),
	}
	if laid.To.After(laid.From) {
		t.laying = days(laid.To.Sub(laid.From))
	}
	t.aim(Block{Position: IncubatorAir})
	return t
}

// Last gives the newest block; false before the first.
func (t *Track) Last() (Block, bool) { return t.last, !t.last.Start.IsZero() }

// Add takes the next block. One that starts before the last one ended is
// refused with ErrBackward, one whose temperature is no temperature with
// another error, and neither changes anything.
//
// Steps that no block came for are bridged: along a straight line, and off it
// by an amount of each member's own that is greatest in the middle and grows
// with the length. What of a block lies before the laying does not count.
func (t *Track) Add(b Block) error {
	if c := float64(b.Celsius); !finite(c) || math.Abs(c) > 200 {
		return fmt.Errorf("block of %s at %v: %g is not a temperature", b.Probe, b.Start, c)
	}
	b.Start = b.Start.UTC()
	if last, ok := t.Last(); ok && b.Start.Before(last.End()) {
		return fmt.Errorf("block of %s at %v: %w", b.Probe, b.Start, ErrBackward)
	}
	t.aim(b)
	t.bridge(b)
	covered := min(max(b.Covered, 0), 1)
	t.fold(stretch{
		from: t.day(b.Start), to: t.day(b.End()),
		celsius: float64(b.Celsius), gap: 1 - covered,
	})
	t.last = b
	t.recent.add(b)
	return nil
}

// A stretch is a leg that every member goes along, each with its own bias.
type stretch struct {
	from, to float64
	celsius  float64
	gap      float64
	off      []float64 // by member, standard normal; nil: none
	sd       float64   // K, of off
}

// leg is the stretch as a member sees it, from when its egg was laid.
func (t *Track) leg(i int, s stretch) leg {
	l := leg{from: s.from, to: s.to, celsius: s.celsius + t.bias[i], gap: s.gap}
	if s.off != nil {
		l.celsius += s.sd * s.off[i]
	}
	if s.from < t.laying {
		l.from = max(s.from, t.ensemble.Members[i].Laid*t.laying)
	}
	return l
}

func (t *Track) fold(s stretch) {
	if s.to <= 0 {
		return
	}
	s.from = max(s.from, 0)
	for i := range t.eggs {
		e, m := &t.eggs[i], &t.ensemble.Members[i]
		if e.hatches != 0 {
			continue
		}
		l := t.leg(i, s)
		// Most blocks lie outside the TSP and end before the hatch: nothing
		// but development comes of them.
		after := e.done + m.Rate(l.celsius)*max(l.to-l.from, 0)
		if after <= m.Start || e.closes != 0 && after < m.Hatch {
			e.done = after
			continue
		}
		if weight := e.advance(m, l); weight > 0 {
			e.spread.add(l.celsius, weight)
		}
		if e.closes != 0 && !e.settled {
			e.settle(m)
		}
	}
}

// settle keeps of the spread what the estimate needs, once the TSP is over.
func (e *egg) settle(m *Member) {
	var g grid
	g.load(e.spread)
	e.median = g.median()
	k := tally{weight: m.End - m.Start, first: e.first, median: e.median}
	if m.Rule == ByChance {
		k.chances = g.chance(m) * k.weight
	}
	e.chance = m.judge(k)
	e.spread, e.settled = spread{}, true
}

// aim sets the bias of each member for a block's probe and position.
func (t *Track) aim(b Block) {
	was, first := t.biasOf, t.last.Start.IsZero()
	if !first && was.Probe == b.Probe && was.Position == b.Position && was.Accuracy == b.Accuracy {
		return
	}
	t.biasOf = b
	accuracy := b.Accuracy
	if accuracy <= 0 {
		accuracy = UnknownAccuracy
	}
	position := t.ensemble.Profile.Record.position(b.Position)
	clear(t.bias)
	// The mean of n probes that are off by as much each, independently, is off
	// by the mean of their errors; its accuracy is already that of the mean.
	probes := strings.Split(b.Probe, probeSeparator)
	each := accuracy / 2 / math.Sqrt(float64(len(probes)))
	for _, probe := range probes {
		for i, z := range t.ensemble.normals(causeOf("probe", probe)) {
			t.bias[i] += each * z
		}
	}
	for i := range t.bias {
		t.bias[i] += position * t.ensemble.Members[i].Position
	}
}

// day is a time in days since the earliest laying.
func (t *Track) day(at time.Time) float64 { return days(at.Sub(t.epoch)) }

func days(d time.Duration) float64 { return d.Hours() / 24 }
