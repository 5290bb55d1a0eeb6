package alerts

import (
	"slices"
	"strings"
	"time"
)

// Judge gives the state that follows from the observation, and why. It is
// pure.
//
// A limit with its deadband, the on-delay and the off-delay come in that
// order, as in IEC 62682: a value beyond its limit must come back past it by
// the deadband to count as back, during the on-delay too. A delay is over at
// the first call at or after its end. A value is taken to hold until the next
// call; the time after a call without one counts for no delay. A clock that
// steps back begins the running delay anew; for a step that is known use
// State.Shift, for a stop of the program State.Pause.
//
// When an alert that was acknowledged ends, or one that has ended is
// acknowledged, its phase is Normal, with the rest still telling of the last
// occurrence, for the notice; the next call wipes that. With ReasonStill
// nothing need be stored: but for the worst value, eggs and text, and what
// the next call finds again, the state is as it was.
func Judge(rule Rule, s State, o Observation, now time.Time) (State, Reason) {
	m := moment{rule: rule, seen: o.sane(), now: now.Round(0).UTC()}
	s = s.fresh(m)
	m.behind, m.hushed = m.hidden(s, Raising), m.hidden(s, Reminding)
	m.is = m.condition(s)
	s, reason := s.measure(m).step(m)
	if reason == ReasonStill {
		s, reason = s.regrade(m)
	}
	return s.worded(m, reason), reason
}

// A moment is what a state is judged by.
type moment struct {
	rule Rule
	seen Observation
	is   condition
	// behind: a cause that is told says the same, so nothing is raised; hushed:
	// so nothing is told again.
	behind, hushed bool
	now            time.Time
}

// began is when what is seen now came about.
func (m moment) began() time.Time {
	if b := m.seen.Began; !b.IsZero() && b.Before(m.now) {
		return b.Round(0).UTC()
	}
	return m.now
}

// fresh names the state's alert and drops what is left of an occurrence that
// is over and acknowledged.
func (s State) fresh(m moment) State {
	kept := s
	if m.seen.Subject.Kind != "" {
		kept.Subject = m.seen.Subject
	}
	switch {
	case s.Phase == InOnDelay && s.Occurrence != "":
		s = State{Phase: InOnDelay, Since: kept.Since, Paused: kept.Paused}
	case s.Phase == Normal || s.Phase == "":
		s = State{Phase: Normal, Severity: m.rule.Severity}
	}
	s.Rule, s.Subject, s.Unit, s.Lead = m.rule.Code, kept.Subject, m.rule.Unit, ""
	s.Alert = AlertID(m.rule.Code, kept.Subject)
	s.Raises = kept.Raises
	if s.Phase == Normal && len(s.Raises) > 0 {
		s.Raises = recent(s.Raises, m.now, m.rule.flapping().Within)
	}
	return s
}

// outside reports whether the value counted as beyond its limit.
func (s State) outside() bool {
	switch s.Phase {
	case InOnDelay:
		return true
	case Active:
		return s.Ended.IsZero()
	case Cleared:
		return !s.Pending.IsZero()
	}
	return false
}

// measure takes the value if it is the worst of the occurrence.
func (s State) measure(m moment) State {
	v := m.seen.Value
	if v == nil || m.is == gone || m.is == unknown || s.Phase == Cleared {
		return s
	}
	if s.Value == nil || m.seen.worse(*v, *s.Value) {
		s.Value, s.Limit = copied(v), copied(m.seen.limit())
	}
	return s
}

func copied(v *float64) *float64 {
	if v == nil {
		return nil
	}
	c := shown(*v)
	return &c
}

// step moves the state from phase to phase.
func (s State) step(m moment) (State, Reason) {
	if s.Phase == Normal {
		return s.fromNormal(m)
	}
	if m.is == unknown {
		return s.Pause(m.now), ReasonStill
	}
	s = s.resumed(m.now)
	switch s.Phase {
	case InOnDelay:
		return s.fromOnDelay(m)
	case Active:
		return s.fromActive(m)
	case InOffDelay:
		return s.fromOffDelay(m)
	}
	return s.fromCleared(m)
}

func (s State) fromNormal(m moment) (State, Reason) {
	if m.is != holds {
		return s, ReasonStill
	}
	s.Phase, s.Since = InOnDelay, m.began()
	if m.rule.OnDelay <= 0 && !m.soon(s, s.Since) {
		return s.raised(m)
	}
	return s, ReasonOnDelayStarted
}

func (s State) fromOnDelay(m moment) (State, Reason) {
	switch {
	case m.is != holds:
		return State{Raises: s.Raises}.fresh(m), ReasonOnDelayEnded
	case m.now.Sub(s.Since) >= m.rule.OnDelay && !m.soon(s, s.Since):
		return s.raised(m)
	}
	return s, ReasonStill
}

// raised begins an occurrence, of a condition that has held since s.Since.
func (s State) raised(m moment) (State, Reason) {
	s.Phase, s.Raised = Active, m.now
	s.Occurrence = m.seen.NewID()
	s.Severity = m.rule.severity(m.seen)
	return s.came(m), ReasonRaised
}

func (s State) fromActive(m moment) (State, Reason) {
	switch {
	case m.is == holds && s.Latched:
		s = s.offShelf()
		s.Latched, s.Ended = false, time.Time{}
		return s.came(m).told(m.now), ReasonAgain
	case m.is != gone || s.Latched:
		return s, ReasonStill
	}
	s.Phase, s.Ended = InOffDelay, m.began()
	if m.offDelay(s) <= 0 {
		return s.over(m)
	}
	return s, ReasonOffDelayStarted
}

func (s State) fromOffDelay(m moment) (State, Reason) {
	switch {
	case m.is == holds:
		s.Phase, s.Ended = Active, time.Time{}
		if s.Chatters {
			s.Back = m.began()
		}
		return s, ReasonOffDelayEnded
	case m.is == waits:
		return s.Pause(m.now), ReasonStill
	case m.now.Sub(s.Ended) >= m.offDelay(s):
		return s.over(m)
	}
	return s, ReasonStill
}

// over ends the occurrence, or latches it.
func (s State) over(m moment) (State, Reason) {
	if m.rule.Latching && s.Acknowledged.IsZero() {
		s.Phase, s.Latched, s.Reminded = Active, true, m.now
		return s, ReasonLatched
	}
	s = s.offShelf()
	s.Phase, s.Cleared = Cleared, m.now
	if !s.Acknowledged.IsZero() {
		s.Phase = Normal
	}
	if m.rule.Event {
		return s, ReasonPassed
	}
	return s, ReasonCleared
}

// fromCleared waits for the acknowledgement; the condition may begin again
// meanwhile, and then a new occurrence takes this one's place.
func (s State) fromCleared(m moment) (State, Reason) {
	began := s.Pending.IsZero()
	switch {
	case m.is != holds && began:
		return s, ReasonStill
	case m.is != holds:
		s.Pending = time.Time{}
		return s, ReasonOnDelayEnded
	case began:
		s.Pending = m.began()
	}
	if m.now.Sub(s.Pending) >= m.rule.OnDelay && !m.soon(s, s.Pending) {
		next := State{Phase: InOnDelay, Since: s.Pending, Raises: s.Raises}.fresh(m)
		return next.measure(m).raised(m)
	}
	if began {
		return s, ReasonOnDelayStarted
	}
	return s, ReasonStill
}

// regrade makes an active alert as severe as it is by now, tells it again if
// nobody sees to it, and takes it off the shelf when its time there is over.
func (s State) regrade(m moment) (State, Reason) {
	severity := m.severe(s)
	switch {
	case !s.Told():
		return s, ReasonStill
	case severity.rank() > s.Severity.rank():
		return s.escalate(m, severity)
	case severity != "" && severity.rank() < s.Severity.rank():
		s.Severity, s.Reminders = severity, 0
		return s, ReasonEased
	case m.rearms(s), m.worsens(s):
		return s.rearm(m)
	case !s.ShelvedUntil.IsZero() && !m.now.Before(s.ShelvedUntil):
		s = s.offShelf()
		s.Reminded = m.now
		return s, ReasonUnshelved
	}
	return s.remind(m)
}

const noReading = " No reading now."

// worded brings eggs and text up to date while the alert is told, and when it
// ends. Without a value the text stays as it was and says so.
func (s State) worded(m moment, reason Reason) State {
	switch {
	case s.Told() && m.is == unknown:
		if !strings.HasSuffix(s.Text, noReading) {
			s.Text += noReading
		}
	case s.Told() && !s.Latched && m.seen.Text != "":
		s.Text = plain(m.seen.Text)
	case s.Told(), reason == ReasonCleared:
		s.Text = Say(m.rule, s, m.seen, m.now)
	}
	if s.Told() && !s.Latched && !slices.Equal(s.Eggs, m.seen.Eggs) {
		s.Eggs = slices.Clone(m.seen.Eggs)
	}
	return s
}
