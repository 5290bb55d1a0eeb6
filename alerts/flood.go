package alerts

import (
	"slices"
	"time"
)

// A flood of alerts, in the numbers of ISA-18.2 and EEMUA 191 (as quoted in
// other sources; the standards themselves were not seen): it begins with more
// than ten in ten minutes, and ends when ten minutes bring fewer than five.
const (
	floodSpan   = 10 * time.Minute
	floodBegins = 11
	floodEnds   = 5
)

// A Flood counts how many alerts were raised lately. Its zero value has
// counted none.
type Flood struct{ came []time.Time }

// Restore counts what stored states tell of, as after a restart.
func (f *Flood) Restore(states []State) {
	for _, s := range states {
		f.came = append(f.came, s.Raises...)
	}
	slices.SortFunc(f.came, time.Time.Compare)
}

// Came counts an alert that was raised now.
func (f *Flood) Came(now time.Time) { f.came = append(f.came, now.Round(0).UTC()) }

// Shift moves the times since from by d, for when the clock turns out to have
// been off by that.
func (f *Flood) Shift(from time.Time, d time.Duration) { f.came = shifted(f.came, from, d) }

// On reports whether there is a flood, where there was one before or not.
func (f *Flood) On(before bool, now time.Time) bool {
	f.came = slices.DeleteFunc(f.came, func(t time.Time) bool { return now.Sub(t) >= floodSpan })
	n := len(f.came)
	return n >= floodBegins || before && n >= floodEnds
}

// Gather decides whether a change goes out by itself during a flood. What is
// raised then and is not critical does not: the flood's own alert counts it.
// It goes out by itself once it has become critical, or when it is still there
// for a reminder after the flood; if it ends before, that is no news either.
func Gather(s State, r Reason, flood bool) (State, bool) {
	switch {
	case r == ReasonRaised:
		s.Gathered = flood && s.Severity != Critical
	case r == ReasonEscalated, r == ReasonReminded && !flood:
		s.Gathered = false
	}
	byHand := r == ReasonAcknowledged || r == ReasonShelved || r == ReasonUnlatched
	return s, Tells(r) && (!s.Gathered || byHand)
}
