package web

import (
	"context"
	"math"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// A record is what was read where something lay, thinned to columns.
type record struct {
	From, To   time.Time
	Width      time.Duration
	Columns    []review.Point
	Gaps       []review.Span
	Setpoints  []book.Setpoint // what the thermostat aimed at, step by step
	Excursions []excursion
	Since      time.Time // the limits are those of the time from here on
	Moves      []move    // from box to box
}

// A move is when something came somewhere else.
type move struct {
	At time.Time
	To string // name of the place
}

// A question asks for a record: where something lay, and over which time.
type question struct {
	stays    []incubation.Stay
	from, to time.Time
	points   int
	// limits are today's: they are not held against what came before since,
	// nor against the time of quite another setpoint.
	limits fence
	// own takes only the probes of the place itself, not those of what it
	// stands in.
	own bool
}

// ranks are how many nearnesses of a probe there are.
const ranks = 4

// record pieces together, for each stretch between two changes of the room,
// the readings of the probes that spoke for it then. Where a nearer probe
// gave a value in a column, a farther one's does not count.
func (s *Server) record(ctx context.Context, snap *monitor.Snapshot, q question) (record, error) {
	in := &reader{server: s, snap: snap}
	for i := range in.near {
		in.near[i] = review.NewThinner(q.from, q.to, q.points)
	}
	r := record{From: q.from, To: q.to, Width: in.near[0].Width()}
	last := earlier(q.to, snap.Time)
	for _, part := range review.Stretches(snap.Book, q.stays, q.from, last) {
		gap, err := in.stretch(ctx, part, sourcesAt(snap.Book, q, part.From))
		if err != nil {
			return record{}, err
		}
		r.Gaps = append(r.Gaps, gap...)
	}
	r.Gaps = review.Joined(r.Gaps)
	r.Columns = nearest(in.near)
	r.Setpoints = review.Setpoints(snap.Book, q.stays, q.from, last)
	q.limits.since = later(q.limits.since, aimedSince(r.Setpoints))
	r.Since = later(q.limits.since, r.From)
	r.Excursions = excursions(r, q.limits)
	return r, nil
}

// A reader folds readings by the nearness of their probes.
type reader struct {
	server *Server
	snap   *monitor.Snapshot
	near   [ranks]*review.Thinner
}

// stretch reads one stretch from its sources and gives the gaps that all of
// them have. Damaged blocks are holes, and so appear as gaps.
func (in *reader) stretch(ctx context.Context, part review.Span, from []incubation.Placement,
) ([]review.Span, error) {
	holes := []review.Span{part}
	for _, p := range from {
		g := review.NewGapWatch(part.From, intervalOf(in.snap, p.Probe))
		into := in.near[min(p.Position.Rank(), ranks-1)]
		for reading, err := range in.server.o.History.Range(ctx, p.Probe, part.From, part.To) {
			if err != nil {
				if ctx.Err() != nil {
					return nil, ctx.Err()
				}
				in.server.o.Log.Warn("damaged history passed over", "probe", p.Probe, "error", err)
				continue
			}
			if reading.Has&incubation.Temperature == 0 {
				continue
			}
			g.Seen(reading.Time)
			into.Add(reading.Time, p.Celsius(reading.Celsius))
		}
		holes = review.Both(holes, g.End(part.To))
	}
	return holes, nil
}

// sameAim is how far apart two setpoints may be for one's limits to be held
// against the time of the other, K. Judgement.
const sameAim = 0.5

// aimedSince is since when a thermostat has aimed at about what it aims at
// last; zero if it always did.
func aimedSince(list []book.Setpoint) time.Time {
	for i := len(list) - 1; i > 0; i-- {
		if math.Abs(float64(list[i-1].Celsius-list[len(list)-1].Celsius)) > sameAim {
			return list[i].From
		}
	}
	return time.Time{}
}

func nearest(near [ranks]*review.Thinner) []review.Point {
	out := near[0].Points()
	for _, f := range near[1:] {
		for i, k := range f.Points() {
			if out[i].N == 0 && k.N > 0 {
				out[i] = k
			}
		}
	}
	return out
}

func intervalOf(snap *monitor.Snapshot, probe string) time.Duration {
	i, ok := slices.BinarySearchFunc(snap.Probes, probe, func(p monitor.ProbeNow, id string) int {
		switch {
		case p.ID < id:
			return -1
		case p.ID > id:
			return 1
		}
		return 0
	})
	if !ok {
		return time.Minute
	}
	return snap.Probes[i].Interval
}

// sourcesAt gives the probes that spoke for the thing at t.
func sourcesAt(b *book.State, q question, t time.Time) []incubation.Placement {
	layout := incubation.Layout{Places: b.Places, Placements: b.Placements}
	all := incubation.Sources(layout, q.stays, t)
	if !q.own {
		return all
	}
	here := incubation.At(q.stays, t)
	return slices.DeleteFunc(all, func(p incubation.Placement) bool { return p.Stay.Place != here })
}
