package web

import (
	"context"
	"math"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A record is what was read where something lay, thinned to columns.
type record struct {
	From, To   time.Time
	Width      time.Duration
	Columns    []Column
	Gaps       []Gap
	Setpoints  []book.Setpoint // what the thermostat aimed at, step by step
	Excursions []excursion
	Since      time.Time // the limits are those of the time from here on
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
		in.near[i] = newFold(q.from, q.to, q.points)
	}
	r := record{From: q.from, To: q.to, Width: in.near[0].width}
	last := earlier(q.to, snap.Time)
	for _, part := range stretches(snap.Book, q.stays, q.from, last) {
		gap, err := in.stretch(ctx, part, sourcesAt(snap.Book, q, part.From))
		if err != nil {
			return record{}, err
		}
		r.Gaps = append(r.Gaps, gap...)
	}
	r.Gaps = joined(r.Gaps)
	r.Columns = nearest(in.near)
	r.Setpoints = setpoints(snap.Book, q.stays, q.from, last)
	q.limits.since = later(q.limits.since, aimedSince(r.Setpoints))
	r.Since = later(q.limits.since, r.From)
	r.Excursions = excursions(r, q.limits)
	return r, nil
}

// A reader folds readings by the nearness of their probes.
type reader struct {
	server *Server
	snap   *monitor.Snapshot
	near   [ranks]*fold
}

// stretch reads one stretch from its sources and gives the gaps that all of
// them have. Damaged blocks are holes, and so appear as gaps.
func (in *reader) stretch(ctx context.Context, part Gap, from []incubation.Placement,
) ([]Gap, error) {
	holes := []Gap{part}
	for _, p := range from {
		g := newGaps(part.From, intervalOf(in.snap, p.Probe))
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
			g.seen(reading.Time)
			into.add(reading.Time, p.Celsius(reading.Celsius))
		}
		holes = both(holes, g.end(part.To))
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

func nearest(near [ranks]*fold) []Column {
	out := near[0].done()
	for _, f := range near[1:] {
		for i, k := range f.done() {
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

// stretches cuts [from, to) wherever the thing moved, what it lay in moved,
// or a probe was put somewhere else.
func stretches(b *book.State, stays []incubation.Stay, from, to time.Time) []Gap {
	if !from.Before(to) {
		return nil
	}
	cuts := []time.Time{from, to}
	cut := func(s incubation.Stay) {
		for _, t := range [...]time.Time{s.From, s.To} {
			if t.After(from) && t.Before(to) {
				cuts = append(cuts, t)
			}
		}
	}
	for _, s := range stays {
		cut(s)
		if p := b.Places[s.Place]; p != nil {
			for _, in := range p.Stays {
				cut(in)
			}
		}
	}
	for _, p := range b.Placements {
		cut(p.Stay)
	}
	slices.SortFunc(cuts, time.Time.Compare)
	cuts = slices.CompactFunc(cuts, time.Time.Equal)
	var out []Gap
	for i := range cuts[1:] {
		out = append(out, Gap{cuts[i], cuts[i+1]})
	}
	return out
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

// setpoints gives what the thermostat around the thing aimed at, from step to
// step; equal neighbours are one.
func setpoints(b *book.State, stays []incubation.Stay, from, to time.Time) []book.Setpoint {
	cuts := []time.Time{from}
	for _, part := range stretches(b, stays, from, to) {
		cuts = append(cuts, part.From)
	}
	for _, list := range b.Setpoints {
		for _, p := range list {
			if p.From.After(from) && p.From.Before(to) {
				cuts = append(cuts, p.From)
			}
		}
	}
	slices.SortFunc(cuts, time.Time.Compare)
	out := []book.Setpoint{}
	for _, t := range cuts {
		c := b.SetpointAt(incubation.At(stays, t), t)
		if n := len(out); c == nil || n > 0 && out[n-1].Celsius == *c {
			continue
		}
		out = append(out, book.Setpoint{From: t, Celsius: *c})
	}
	return out
}
