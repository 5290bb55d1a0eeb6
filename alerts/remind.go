package alerts

import (
	"fmt"
	"time"
)

// A Reminder says how often an alert is told again while it is active, on no
// shelf, and nobody has acknowledged it.
type Reminder struct {
	Severity Severity
	Pauses   []time.Duration // from notice to notice; the last one goes on
	Why      string
	Mark     Mark
}

// Reminders gives the pauses for each severity. A severity that is not among
// them is told once, and so is an event, whatever its severity: nothing about
// it grows worse by the hour.
func Reminders() []Reminder {
	return []Reminder{
		{
			Severity: Critical,
			Pauses: []time.Duration{
				5 * time.Minute, 10 * time.Minute, 20 * time.Minute, 40 * time.Minute, time.Hour,
			},
			Why: "One sound wakes nobody for sure, and minutes count at first. Twelve a night at the " +
				"most after that: who is away for a day must not find a hundred.",
			Mark: Judgement,
		},
		{
			Severity: Warning,
			Pauses:   []time.Duration{4 * time.Hour, 12 * time.Hour, 24 * time.Hour},
			Why: "A warning wants a look today, and is no reason to wake anybody twice in a night: after " +
				"four hours, half a day, then daily. What grows worse by the hour becomes critical.",
			Mark: Judgement,
		},
	}
}

// RearmAfter is how long a critical alert that was acknowledged may go on
// before it counts as not acknowledged: the re-alarm time of IEC 62682. Who
// acknowledged it at night may have fallen asleep again; what four hours of
// work have not mended is worth another word. Judgement.
const RearmAfter = 4 * time.Hour

// pause is how long after notice n, from 0, a severity is told again; zero:
// never.
func pause(s Severity, n int) time.Duration {
	for _, r := range Reminders() {
		if r.Severity == s {
			return r.Pauses[min(n, len(r.Pauses)-1)]
		}
	}
	return 0
}

// told notes that a notice goes out by which reminders begin anew.
func (s State) told(now time.Time) State {
	s.Reminded, s.Reminders = now, 0
	return s
}

// remind tells an alert again that nobody has acknowledged for long.
func (s State) remind(m moment) (State, Reason) {
	last := s.Reminded
	if last.IsZero() {
		last = s.Raised
	}
	if last.After(m.now) { // the clock was set back
		s.Reminded = m.now
		return s, ReasonStill
	}
	last = s.spell(m.rule, last)
	wait := pause(s.pressing(), s.Reminders)
	switch {
	case wait == 0, m.rule.Event, m.hushed, s.Phase != Active,
		!s.Acknowledged.IsZero(), !s.ShelvedUntil.IsZero(), m.now.Sub(last) < wait:
		return s, ReasonStill
	}
	s.Reminded = m.now
	s.Reminders++
	s.Lead = fmt.Sprintf("Reminder %d, %s: ", s.Reminders, m.sofar(s))
	return s, ReasonReminded
}

// pressing is how severe the alert is for being told again: heat that is over
// wants a look, and wakes nobody twice.
func (s State) pressing() Severity {
	if s.Latched && s.Severity == Critical {
		return Warning
	}
	return s.Severity
}

// rearms reports whether an acknowledgement is worn out. Without a value the
// condition is taken to hold.
func (m moment) rearms(s State) bool {
	return s.Severity == Critical && s.Phase == Active && !m.rule.Event &&
		(m.is == holds || m.is == unknown) && !s.Acknowledged.IsZero() &&
		m.now.Sub(s.Acknowledged) >= RearmAfter &&
		(s.ShelvedUntil.IsZero() || !m.now.Before(s.ShelvedUntil))
}

func (s State) rearm(m moment) (State, Reason) {
	s.Lead = fmt.Sprintf("Acknowledged %s ago, %s: ", Lasting(m.now.Sub(s.Acknowledged)), m.sofar(s))
	s.Acknowledged, s.AcknowledgedBy = time.Time{}, ""
	return s.offShelf().told(m.now), ReasonRearmed
}

// sofar says how long it has lasted, and what it came to.
func (m moment) sofar(s State) string {
	if s.Latched {
		return "over, but not acknowledged"
	}
	text := "so for " + Lasting(m.now.Sub(s.spell(m.rule, s.Since)))
	if s.Value != nil && (s.Unit == "celsius" || s.Unit == "ratio") {
		text += ", worst " + Amount(*s.Value, s.Unit, m.seen.Scale)
	}
	return text
}
