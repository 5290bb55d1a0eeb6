package incubation

import (
	"math"
	"strconv"
	"time"
)

// gapPieces is the most pieces that a gap is gone through in.
const gapPieces = 16

// bridge takes every member over the steps between the last block and b, or
// between the laying and b if it is the first.
func (t *Track) bridge(b Block) {
	to := t.day(b.Start)
	last, ok := t.Last()
	switch {
	case !ok && to > 0:
		g := gap{from: 0, to: to, start: float64(b.Celsius), end: float64(b.Celsius), open: before}
		t.cross(g, causeOf("before", stamp(b.Start)))
	case ok && b.Start.After(last.End()):
		g := gap{from: t.day(last.End()), to: to, start: float64(last.Celsius), end: float64(b.Celsius)}
		t.cross(g, causeOf("after", stamp(last.Start)))
	}
}

func stamp(at time.Time) string { return strconv.FormatInt(at.Unix(), 10) }

// cross folds a gap in; why is what its deviations are drawn for.
func (t *Track) cross(g gap, why cause) {
	if g.from < 0 && g.to > 0 {
		// Of a gap over the earliest laying only the later part counts, and
		// it is not measured from where it began; the line stays the line.
		g.start += (g.end - g.start) * -g.from / (g.to - g.from)
		g.from = 0
	}
	var off []float64
	if g.counts() {
		off = t.ensemble.normals(why)
	}
	for _, s := range g.stretches(t.ensemble.Profile.Record, off) {
		t.fold(s)
	}
}

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
}

// counts reports whether the gap is one: missing blocks that add up to Lapse
// mean a longer stretch than that without readings.
func (g gap) counts() bool { return g.to-g.from > days(Lapse)-1e-6 }

// stretches cuts the gap into pieces, off by the members' normals.
func (g gap) stretches(r RecordSet, off []float64) []stretch {
	length := g.to - g.from
	n := min(max(int(math.Round(length/days(BlockLength))), 1), gapPieces)
	out := make([]stretch, n)
	for i := range out {
		x := (float64(i) + 0.5) / float64(n)
		out[i] = stretch{
			from:    g.from + length*float64(i)/float64(n),
			to:      g.from + length*float64(i+1)/float64(n),
			celsius: g.start + (g.end-g.start)*x,
		}
		if g.counts() {
			out[i].gap, out[i].off, out[i].sd = 1, off, g.sd(r, x)
		}
	}
	return out
}

// sd is how far the temperature may be from the line at share x of the gap, K:
// that of a random walk that is tied down at the ends that were read.
func (g gap) sd(r RecordSet, x float64) float64 {
	hours := (g.to - g.from) * 24
	var free float64 // hours to the readings, as one
	switch g.open {
	case before:
		free = hours * (1 - x)
	case after:
		free = hours * x
	default:
		free = hours * x * (1 - x)
	}
	return min(r.Gap.Value*math.Sqrt(free), r.GapMost.Value)
}
