package alerts

import "time"

// Pause stops the delays from the given time until the next observation with
// a value. Judge calls it when there is none; whoever loads states after the
// program stood still calls it with the time of the last tick.
func (s State) Pause(at time.Time) State {
	if s.Paused.IsZero() && s.Phase != Normal && s.Phase != "" {
		s.Paused = at.Round(0).UTC()
	}
	return s
}

// Shift moves every time of the state, for when the clock that they were taken
// from turns out to have been off by d.
func (s State) Shift(d time.Duration) State {
	for _, t := range []*time.Time{
		&s.Since, &s.Raised, &s.Ended, &s.Cleared, &s.Acknowledged, &s.ShelvedUntil,
		&s.Paused, &s.Pending, &s.Reminded, &s.Back,
	} {
		if !t.IsZero() {
			*t = t.Add(d)
		}
	}
	s.Raises = shifted(s.Raises, time.Time{}, d)
	return s
}

// ShiftSince moves by d what was timed by a clock that turned out to be off
// by d, where that clock was in use from the given time on only: later times,
// and the delay that runs with its pause. The end of a shelving is never moved
// to later: it may have been asked for before.
func (s State) ShiftSince(from time.Time, d time.Duration) State {
	running := s.timer()
	for _, t := range []*time.Time{
		&s.Since, &s.Raised, &s.Ended, &s.Cleared, &s.Acknowledged, &s.Paused, &s.Pending, &s.Reminded,
		&s.Back,
	} {
		runs := running != nil && (t == running || t == &s.Paused)
		if !t.IsZero() && (runs || !t.Before(from)) {
			*t = t.Add(d)
		}
	}
	s.Raises = shifted(s.Raises, from, d)
	if d < 0 && !s.ShelvedUntil.IsZero() {
		s.ShelvedUntil = s.ShelvedUntil.Add(d)
	}
	return s
}

// timer gives the start of the delay that runs, nil if none does.
func (s *State) timer() *time.Time {
	switch {
	case s.Phase == InOnDelay:
		return &s.Since
	case s.Phase == InOffDelay:
		return &s.Ended
	case s.Phase == Cleared && !s.Pending.IsZero():
		return &s.Pending
	}
	return nil
}

// resumed moves the start of the running delay by the time that did not
// count, and never leaves it in the future.
func (s State) resumed(now time.Time) State {
	start := s.timer()
	if start != nil && !s.Paused.IsZero() && now.After(s.Paused) {
		*start = start.Add(now.Sub(s.Paused))
	}
	if start != nil && start.After(now) {
		*start = now
	}
	s.Paused = time.Time{}
	return s
}
