package incubation

import (
	"math"
	"strconv"
	"time"
)

// gapPieces is the most pieces that a gap is gone through in.
const gapPieces = 32

// A side says which end of a gap has no reading.
type side int

const (
	neither side = iota
	before       // nothing before it: from the laying to the first reading
	after        // nothing after it: from the last reading to now
)

// A gap is a stretch of missing blocks, in days, and what was read at its
// ends.
type gap struct {
	from, to   float64
	start, end float64 // °C
	open       side
	source     int       // whose error applies
	since      time.Time // the block that it is known by: its deviations are drawn for that
}

// counts reports whether the gap is one: missing blocks that add up to Lapse
// mean a longer stretch than that without readings.
func (g gap) counts() bool { return g.to-g.from > days(Lapse)-1e-6 }

// line is the temperature at a share x of the gap as if nothing had happened.
func (g gap) line(x float64) float64 { return g.start + (g.end-g.start)*x }

// cause is what the gap's deviations are drawn for.
func (g gap) cause(what string) cause {
	if g.open == before {
		what += " before"
	}
	return causeOf(what, strconv.FormatInt(g.since.Unix(), 10))
}

// A stretch is a leg that every member goes along, each with its own errors.
type stretch struct {
	from, to float64
	celsius  float64
	gap      float64 // share of it that no reading speaks for
	usual    float64 // sd of what is not known of it, K
	wild     float64 // the same where something was wrong
}

// A bridge is a gap as the members go over it: along a line, or the course of
// an outage, and off it by an amount of each member's own.
type bridge struct {
	source    int
	stretches []stretch
	off       []float64 // by member, standard normal; nil: none
	odd       []float64 // by member, standard normal: whether something was wrong
	limit     float64   // members of odd below it go by wild
}

// oddShare is how likely it is that more than the readings was missing in a
// gap: whatever silenced the probe had to do with the heat, or the keeper with
// both. It grows with the length: the heat fails, or a dial is knocked, about
// once in oddDays. Judgement, both.
const (
	oddShare = 0.1
	oddDays  = 30
)

// bridge makes the way over a gap. The unknown grows away from the readings as
// this place has wandered so far, and for members that hold that something was
// wrong as the profile says of any.
func (t *Track) bridge(g gap) bridge {
	if g.from < 0 && g.to > 0 {
		// Of a gap over the earliest laying only the later part counts, and
		// it is not measured from where it began; the line stays the line.
		g.start = g.line(-g.from / (g.to - g.from))
		g.from = 0
	}
	b := bridge{source: g.source}
	r := t.ensemble.Profile.Record
	if g.counts() && r.Gap.Value > 0 && t.without != OfGaps {
		b.off = t.ensemble.normals(g.cause("gap"))
		b.odd = t.ensemble.normals(g.cause("odd gap"))
		b.limit = quantileNormal(1 - (1-oddShare)*math.Exp(-(g.to-g.from)/oddDays))
	}
	length := g.to - g.from
	n := min(max(int(math.Round(length/days(BlockLength))), 1), gapPieces)
	usual, wild := t.habit(), habit{r.GapMost.Value, r.Gap.Value}
	for i := range n {
		x := (float64(i) + 0.5) / float64(n)
		s := stretch{
			from: g.from + length*float64(i)/float64(n), to: g.from + length*float64(i+1)/float64(n),
			celsius: g.line(x),
		}
		if g.counts() {
			s.gap = 1
			out, sd := t.outage(g, x)
			s.celsius += out
			s.usual = math.Hypot(usual.sd(g, x), sd)
			s.wild = math.Hypot(wild.sd(g, x), sd)
		}
		b.stretches = append(b.stretches, s)
	}
	return b
}

// leg is a stretch of the bridge as a member sees it.
func (b *bridge) leg(s stretch, l *lot, i int) leg {
	sd := s.usual
	if b.odd != nil && b.odd[i] < b.limit {
		sd = s.wild
	}
	out := leg{from: max(s.from, l.laid), to: s.to, celsius: s.celsius + l.bias[b.source], gap: s.gap}
	if b.off != nil {
		out.celsius += sd * b.off[i]
	}
	return out
}
