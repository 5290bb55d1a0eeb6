package web

import (
	"cmp"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/review"
)

// A sourceLine is a probe that spoke for an egg, and over which time.
type sourceLine struct {
	Probe, When string
	How         []string // where it sat, and how far it may be off

	place    string
	at       incubation.Placement
	from, to time.Time
	near     time.Duration // how long no nearer one was there
}

// sources lists the probes that spoke for an egg, the first to do so first.
func (v *visit) sources(c monitor.ClutchNow, e monitor.EggNow) []sourceLine {
	egg := v.snap.Book.Eggs[e.ID]
	q := question{stays: egg.Stays, from: c.Laid.From, to: v.snap.Time}
	if !live(e) && !egg.Ended.IsZero() {
		q.to = egg.Ended
	}
	var out []sourceLine
	for _, part := range review.Stretches(v.snap.Book, q.stays, q.from, q.to) {
		all := sourcesAt(v.snap.Book, q, part.From)
		for _, p := range all {
			i := slices.IndexFunc(out, func(l sourceLine) bool {
				return l.Probe == p.Probe && l.at.Position == p.Position && l.at.Accuracy == p.Accuracy &&
					l.place == p.Stay.Place && l.to.Equal(part.From)
			})
			if i < 0 {
				i = len(out)
				out = append(out, sourceLine{Probe: p.Probe, place: p.Stay.Place, at: p, from: part.From})
			}
			out[i].to = part.To
			if p.Position.Rank() == all[0].Position.Rank() {
				out[i].near += part.To.Sub(part.From)
			}
		}
	}
	for i := range out {
		v.tellSource(&out[i], q.to)
	}
	return out
}

// tellSource writes a source out; until is the end of the record.
func (v *visit) tellSource(l *sourceLine, until time.Time) {
	t := v.teller()
	l.When = v.say.moment(l.from) + " to " + v.say.moment(l.to)
	if l.to.Equal(until) && until.Equal(v.snap.Time) {
		l.When = "since " + v.say.moment(l.from)
	}
	where := "in " + t.place(l.place)
	switch place := t.book.Places[l.place]; {
	case l.at.Position == incubation.IncubatorAir && place != nil && place.Kind != incubation.Incubator:
		where += ": in the air around it" // as of the lay box in an enclosure
	case l.at.Position != "":
		where += ": " + positionWord(l.at.Position)
	}
	l.How = []string{where, t.accuracy(l.at.Accuracy, v.snap, l.Probe)}
}

// accuracy says how far a probe may be off, as written down in the book, as
// its maker states, or as is taken where nobody says.
func (t teller) accuracy(k float64, snap *monitor.Snapshot, probe string) string {
	if k > 0 {
		return "right to within " + t.apart(k) + ", as written down"
	}
	for _, p := range snap.Probes {
		if p.ID == probe && p.Accuracy > 0 {
			return "right to within " + t.apart(p.Accuracy) + ", as its maker states"
		}
	}
	return "nobody said how accurate: taken as right to within " + t.apart(incubation.UnknownAccuracy)
}

// mostly is the position that an egg was longest measured from.
func mostly(lines []sourceLine) incubation.Position {
	total := map[incubation.Position]time.Duration{}
	best := incubation.IncubatorAir
	for _, l := range lines {
		total[l.at.Position] += l.near
		if total[l.at.Position] > total[best] {
			best = l.at.Position
		}
	}
	return best
}

// longest gives the n longest gaps in their order, and how many are left out.
func longest(gaps []review.Span, n int) (kept []review.Span, left int) {
	length := func(g review.Span) time.Duration { return g.To.Sub(g.From) }
	kept = slices.Clone(gaps)
	slices.SortStableFunc(kept, func(a, b review.Span) int { return cmp.Compare(length(b), length(a)) })
	kept = kept[:min(len(kept), n)]
	slices.SortFunc(kept, func(a, b review.Span) int { return a.From.Compare(b.From) })
	return kept, len(gaps) - len(kept)
}
