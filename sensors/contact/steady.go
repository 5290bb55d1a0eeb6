package contact

import "time"

// A steady holds a new state back until it has held for a time.
type steady struct {
	wait  time.Duration
	known bool // a state has settled
	on    bool // that state

	moving bool // a state that is not settled is being seen
	next   bool // that one
	since  time.Time
	moved  time.Time // since when nothing has settled

	turns []time.Time // when it was last seen to move, at most tooOften
}

// tooOften is how many moves within restless no door makes, settled or not.
// Judgement.
const tooOften = 10

// see takes what is seen now and reports whether a state has settled that was
// not so before. Two looks are needed at least.
func (s *steady) see(on bool, now time.Time) bool {
	switch {
	case s.known && on == s.on:
		s.moving, s.moved = false, time.Time{} // back within the wait: a bounce
		return false
	case !s.moving:
		s.moving, s.next, s.since = true, on, now
		s.turns = append(s.turns[max(0, len(s.turns)+1-tooOften):], now)
		if s.moved.IsZero() {
			s.moved = now
		}
		return false
	case on != s.next:
		s.next, s.since = on, now
		return false
	case now.Sub(s.since) < s.wait:
		return false
	}
	s.known, s.on, s.moving, s.moved = true, on, false, time.Time{}
	return true
}

// chatters reports whether it has moved for so long, or so often, that it
// has no state.
func (s *steady) chatters(now time.Time) bool {
	return !s.moved.IsZero() && now.Sub(s.moved) > restless ||
		len(s.turns) == tooOften && now.Sub(s.turns[0]) < restless
}

// rest is how long until the next look.
func (s *steady) rest() time.Duration {
	if !s.moving {
		return pollEvery
	}
	return min(max(s.wait/4, 5*time.Millisecond), pollEvery)
}

// forget begins anew: after a fault nothing is known of the state before it.
func (s *steady) forget() { *s = steady{wait: s.wait} }
