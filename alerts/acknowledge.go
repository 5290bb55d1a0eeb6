package alerts

import (
	"errors"
	"fmt"
	"time"
)

// Why an acknowledgement or a shelving is refused; nothing has changed then.
var (
	ErrOccurrence = errors.New("this is not the alert's present occurrence")
	ErrOver       = errors.New("the alert is over")
	ErrShelfTime  = fmt.Errorf("the time on the shelf must be above zero and at most %d days",
		MaxShelf/(24*time.Hour))
)

// MaxShelf is the longest time an alert may be shelved for.
const MaxShelf = 7 * 24 * time.Hour

// Acknowledge says that someone has seen the occurrence. A cleared or latched
// alert returns to normal by it; doing it twice changes nothing.
func Acknowledge(s State, occurrence, by string, now time.Time) (State, Reason, error) {
	if !s.open(occurrence) {
		return s, ReasonStill, fmt.Errorf("acknowledge %s: %w", s.Alert, ErrOccurrence)
	}
	if !s.Acknowledged.IsZero() {
		return s, ReasonStill, nil
	}
	now = now.Round(0).UTC()
	s.Acknowledged, s.AcknowledgedBy, s.Lead = now, plain(by), ""
	switch {
	case s.Latched:
		s.Phase, s.Latched, s.Cleared = Normal, false, now
		return s, ReasonUnlatched, nil
	case s.Phase == Cleared && !s.Pending.IsZero():
		s.Phase, s.Since, s.Pending = InOnDelay, s.Pending, time.Time{}
	case s.Phase == Cleared:
		s.Phase = Normal
	}
	return s, ReasonAcknowledged, nil
}

// A Shelving hides an occurrence for a time.
type Shelving struct {
	Occurrence string
	For        time.Duration // above zero, at most MaxShelf
	By         string
	Why        string // may be empty
}

// sameTap is how long after it a shelving that comes again counts as the same:
// a second tap, or a command that a broker delivered twice. Judgement.
const sameTap = 5 * time.Minute

// Shelve hides an active alert's occurrence for a time. It goes on being
// judged; a new occurrence, a greater severity or the end takes it off. The
// same again within a few minutes changes nothing.
func Shelve(s State, v Shelving, now time.Time) (State, Reason, error) {
	var refused error
	switch {
	case !s.open(v.Occurrence):
		refused = ErrOccurrence
	case !s.Told():
		refused = ErrOver
	case v.For <= 0 || v.For > MaxShelf:
		refused = ErrShelfTime
	}
	if refused != nil {
		return s, ReasonStill, fmt.Errorf("shelve %s: %w", s.Alert, refused)
	}
	until := now.Round(0).UTC().Add(v.For)
	if more := until.Sub(s.ShelvedUntil); s.ShelvedBy == plain(v.By) && more >= 0 && more < sameTap {
		return s, ReasonStill, nil
	}
	s.ShelvedUntil, s.ShelvedBy, s.ShelvedWhy, s.Lead = until, plain(v.By), plain(v.Why), ""
	return s, ReasonShelved, nil
}

// Unshelve takes an occurrence off the shelf before its time there is over.
// One that is not on it stays as it is.
func Unshelve(s State, occurrence string) (State, Reason, error) {
	if !s.open(occurrence) {
		return s, ReasonStill, fmt.Errorf("take %s off the shelf: %w", s.Alert, ErrOccurrence)
	}
	if s.ShelvedUntil.IsZero() {
		return s, ReasonStill, nil
	}
	return s.offShelf(), ReasonUnshelved, nil
}

// offShelf takes the state off the shelf, and forgets who put it there.
func (s State) offShelf() State {
	s.ShelvedUntil, s.ShelvedBy, s.ShelvedWhy = time.Time{}, "", ""
	return s
}

// Withdraw ends an alert that no longer applies: a place out of use, a probe
// or a limit taken away, an egg that hatched. Its phase is Normal then. The
// rule may be zero, if it is one that this version does not have.
func Withdraw(rule Rule, s State, now time.Time) (State, Reason) {
	told := s.Told()
	if !told && s.Phase != Cleared {
		return State{
			Alert: s.Alert, Rule: s.Rule, Subject: s.Subject, Phase: Normal,
			Severity: s.Severity, Unit: s.Unit,
		}, ReasonStill
	}
	s.Phase, s.Latched, s.Cleared = Normal, false, now.Round(0).UTC()
	s.Raises, s.Chatters, s.Back, s.Lead = nil, false, time.Time{}, ""
	s.Paused, s.Pending = time.Time{}, time.Time{}
	s = s.offShelf()
	if !told || rule.Event {
		return s, ReasonPassed
	}
	s.Text = capital(s.name()) + ": this alert no longer applies."
	return s, ReasonWithdrawn
}

// open reports whether this occurrence is the one that is active, or cleared
// and not yet acknowledged.
func (s State) open(occurrence string) bool {
	return occurrence != "" && s.Occurrence == occurrence && (s.Told() || s.Phase == Cleared)
}
