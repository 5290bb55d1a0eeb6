package review

import (
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// Stretches cuts [from, to) wherever the thing moved, what it lay in moved, or
// a probe was put somewhere else: within one, the same probes speak for it.
func Stretches(b *book.State, stays []incubation.Stay, from, to time.Time) []Span {
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
	return between(cuts)
}

// between gives the spans between times, in order.
func between(cuts []time.Time) []Span {
	slices.SortFunc(cuts, time.Time.Compare)
	cuts = slices.CompactFunc(cuts, time.Time.Equal)
	var out []Span
	for i := range cuts[1:] {
		out = append(out, Span{cuts[i], cuts[i+1]})
	}
	return out
}

// Setpoints gives what the thermostat around the thing aimed at, from step to
// step; equal neighbours are one.
func Setpoints(b *book.State, stays []incubation.Stay, from, to time.Time) []book.Setpoint {
	cuts := []time.Time{from}
	for _, part := range Stretches(b, stays, from, to) {
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
