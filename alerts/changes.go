package alerts

import "time"

// KeptPast is how long an occurrence stays in the log of past ones: two years
// can be compared month by month, with two months to spare for doing so.
const KeptPast = 26 // months

// Changes are what became different about the alerts, to be stored together.
// The zero value is none.
type Changes struct {
	States  []State  // as they stand now: each replaces the stored one of its alert
	Forget  []string // alerts that are over: their states are dropped
	Notices []Notice // that are to leave the house
	// Past are occurrences as they last were, those still told of included:
	// each replaces what the log has of its occurrence.
	Past []State
	// DropPast is before when occurrences were raised that the log forgets;
	// zero: it forgets none.
	DropPast time.Time
}

// None reports whether nothing changed.
func (c Changes) None() bool {
	return len(c.States)+len(c.Forget)+len(c.Notices)+len(c.Past) == 0 && c.DropPast.IsZero()
}

// AsPast gives a state as the log of past occurrences keeps it, and false if
// it is of no occurrence that was ever told. What began since the occurrence
// was over is none of the log's.
func (s State) AsPast() (State, bool) {
	if s.Occurrence == "" || s.Raised.IsZero() {
		return State{}, false
	}
	if !s.Told() && s.Phase != Cleared {
		s.Phase = Normal
	}
	s.Pending, s.Paused = time.Time{}, time.Time{}
	return s, true
}
