package alerts

import (
	"fmt"
	"slices"
	"time"
)

// Flapping says when an alert comes and goes: it is raised for the Times-th
// time within Within. It is told once more and then stays one occurrence until
// its condition has been away for Quiet.
type Flapping struct {
	Times         int
	Within, Quiet time.Duration
}

// flapping is the rule's own, or the usual. The standards leave the numbers
// open; these are judgement: who has been woken twice in an hour by the same
// thing knows of it.
func (r Rule) flapping() Flapping {
	if r.Flaps.Times > 0 {
		return r.Flaps
	}
	return Flapping{Times: 3, Within: time.Hour, Quiet: time.Hour}
}

// dropsOut is for what is read by radio: a spell of silence is over before
// anybody can look, and the next is hours away. Judgement: the second in a day
// says all there is to say, and a day without one is the sign that it is over;
// half a day let a simulated week of bad Wi-Fi be told of several times.
func dropsOut() Flapping {
	return Flapping{Times: 2, Within: 24 * time.Hour, Quiet: 24 * time.Hour}
}

// came notes that the alert was raised now.
func (s State) came(m moment) State {
	f := m.rule.flapping()
	s.Raises = append(recent(s.Raises, m.now, f.Within), m.now)
	s.Raises = s.Raises[max(0, len(s.Raises)-f.Times):]
	s.Chatters, s.Back = len(s.Raises) == f.Times && !m.rule.Event, time.Time{}
	return s
}

// recent gives those of the times that still count, in a slice of its own.
func recent(times []time.Time, now time.Time, within time.Duration) []time.Time {
	var out []time.Time
	for _, t := range times {
		if !t.After(now) && now.Sub(t) < within {
			out = append(out, t)
		}
	}
	return out
}

// offDelay is how long the condition must be gone for the alert to end.
func (m moment) offDelay(s State) time.Duration {
	if s.Chatters {
		return max(m.rule.flapping().Quiet, m.rule.OffDelay)
	}
	return m.rule.OffDelay
}

// comesAndGoes says why an alert is told though all is well just now.
func (s State) comesAndGoes(f Flapping) string {
	if !s.Chatters || !s.Told() || len(s.Raises) == 0 {
		return ""
	}
	first, last := s.Raises[0], s.Raises[len(s.Raises)-1]
	return fmt.Sprintf("It comes and goes, for the %s time within %s: told as one until it has "+
		"been quiet for %s.", ordinal(len(s.Raises)), Lasting(last.Sub(first)), anHour(f.Quiet))
}

func ordinal(n int) string {
	switch n {
	case 2:
		return "second"
	case 3:
		return "third"
	}
	return fmt.Sprintf("%dth", n)
}

func anHour(d time.Duration) string {
	if d == time.Hour {
		return "an hour"
	}
	return Lasting(d)
}

// rests reports whether a cause comes and goes and is away just now, for longer
// than its rule waits by itself. It is still told, but explains nothing.
func (c Cause) rests(now time.Time) bool {
	return c.Chatters && c.Phase == InOffDelay && now.Sub(c.Ended) >= c.OffDelay
}

// spell is since when what comes and goes by a rule of its own has held without
// a break, where that is later than t: neither a reminder nor the wait for one
// counts the quiet before.
func (s State) spell(r Rule, t time.Time) time.Time {
	if r.Flaps.Times > 0 && s.Chatters && s.Back.After(t) {
		return s.Back
	}
	return t
}

// worsens reports whether what comes and goes was acknowledged as such, and now
// stays: for as long as a first reminder takes, and three times as long as it
// must hold to be told at all. That is another thing. Judgement.
func (m moment) worsens(s State) bool {
	first := pause(s.Severity, 0)
	wait := max(first, 3*m.rule.OnDelay)
	return s.Chatters && s.Phase == Active && m.is == holds && first > 0 &&
		!s.Acknowledged.IsZero() && s.Back.After(s.Acknowledged) && m.now.Sub(s.Back) >= wait &&
		s.ShelvedUntil.IsZero()
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
