package alerts

import (
	"fmt"
	"slices"
	"time"
)

// An alert that is raised for the chatterAt-th time within quietFor comes and
// goes. It is told once more and then stays one occurrence until its condition
// has been away for quietFor. The standards leave the numbers open; these are
// judgement: who has been woken twice in an hour by the same thing knows of it.
const (
	chatterAt = 3
	quietFor  = time.Hour
)

// came notes that the alert was raised now.
func (s State) came(m moment) State {
	s.Raises = append(recent(s.Raises, m.now), m.now)
	s.Raises = s.Raises[max(0, len(s.Raises)-chatterAt):]
	s.Chatters = len(s.Raises) == chatterAt && !m.rule.Event
	return s
}

// recent gives those of the times that still count, in a slice of its own.
func recent(times []time.Time, now time.Time) []time.Time {
	var out []time.Time
	for _, t := range times {
		if !t.After(now) && now.Sub(t) < quietFor {
			out = append(out, t)
		}
	}
	return out
}

// offDelay is how long the condition must be gone for the alert to end.
func (m moment) offDelay(s State) time.Duration {
	if s.Chatters {
		return max(quietFor, m.rule.OffDelay)
	}
	return m.rule.OffDelay
}

// comesAndGoes says why an alert is told though all is well just now.
func (s State) comesAndGoes() string {
	if !s.Chatters || !s.Told() || len(s.Raises) == 0 {
		return ""
	}
	first, last := s.Raises[0], s.Raises[len(s.Raises)-1]
	return fmt.Sprintf("It comes and goes, for the third time within %s: told as one until it has "+
		"been quiet for an hour.", Lasting(last.Sub(first)))
}

// shifted moves times by d, in a slice of its own: all of them, or those that
// are not before from.
func shifted(times []time.Time, from time.Time, d time.Duration) []time.Time {
	out := slices.Clone(times)
	for i, t := range out {
		if !t.Before(from) {
			out[i] = t.Add(d)
		}
	}
	return out
}
