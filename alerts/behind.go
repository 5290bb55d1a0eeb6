package alerts

import "time"

// Behind says which other alert tells the same: one cause, one message. While
// that is told, at least as loudly, this rule's condition waits: nothing
// begins and nothing is raised, an end is an end. Once it is over, what still
// holds has its own on-delay before it.
type Behind struct {
	Rule  string
	Where Reach
	Only  Held // what alone it keeps back; empty: both
}

// Held is what a cause that is told keeps back.
type Held string

// What may be kept back: that it begins and is raised, or that it is told again.
// Two rules that lie behind each other about the same subject do not keep the
// same back: both would be silent for good.
const (
	Raising   Held = "raising"
	Reminding Held = "reminding"
)

// Reach says where, seen from a subject, the other alert is looked for.
type Reach string

// The reaches of a Behind.
const (
	Same      Reach = "same"   // about the same subject
	Outer     Reach = "outer"  // about what the subject stands in
	ItsPlace  Reach = "place"  // about the place of a probe
	ItsSource Reach = "source" // about what a probe is read through
	// ItsContacts: about a contact of the place, or of what that stands in.
	ItsContacts Reach = "contact"
	Anywhere    Reach = "anywhere" // about anything
)

// at gives a Behind for each of the rules.
func at(where Reach, rules ...string) []Behind {
	var out []Behind
	for _, code := range rules {
		out = append(out, Behind{Rule: code, Where: where})
	}
	return out
}

// only narrows each to what alone it keeps back.
func only(what Held, all []Behind) []Behind {
	for i := range all {
		all[i].Only = what
	}
	return all
}

// A Cause is an alert that the observed one lies behind, as it stands.
type Cause struct {
	State
	Where Reach
	Only  Held // what alone it keeps back; empty: both
	// OnDelay and OffDelay are of its rule.
	OnDelay, OffDelay time.Duration
	// Now is the value that it is judged by now; nil: its worst counts.
	Now *float64
	// Usual is how much warmer than there it always is here, K.
	Usual float64
}

const (
	// explainsUpTo is how much further out than what it stands in a place may
	// be and still be so for the same cause, K. A box lags its incubator and
	// sits on a shelf of it; one that is further out has a trouble of its own.
	// Judgement.
	explainsUpTo = 1.0
	// heldAtMost is how long a critical alert, but for cold, waits for a cause that is itself
	// in its on-delay. Minutes of one message too many cost less than minutes
	// of heat. Others wait for another on-delay of theirs. Judgement.
	heldAtMost = 5 * time.Minute
)

// hidden reports whether a cause tells already what is observed, and so keeps
// it back.
func (m moment) hidden(s State, what Held) bool {
	for _, c := range m.seen.Causes {
		keeps := c.Only == "" || c.Only == what
		if keeps && c.Told() && !c.Latched && !c.rests(m.now) && m.explained(s, c) {
			return true
		}
	}
	return false
}

// soon reports whether a cause is about to tell it: that is in its own
// on-delay, and what is observed has not been held back for long. began is
// when it began to hold.
func (m moment) soon(s State, began time.Time) bool {
	patience := m.rule.OnDelay
	if m.rule.severity(m.seen) == Critical && m.seen.Low == nil {
		patience = min(patience, heldAtMost)
	}
	if m.now.Sub(began) >= m.rule.OnDelay+patience {
		return false
	}
	for _, c := range m.seen.Causes {
		start := c.timer()
		if start == nil || c.Phase == InOffDelay || !c.Paused.IsZero() || c.Only == Reminding {
			continue
		}
		if start.Add(c.OnDelay).After(m.now) && m.explained(s, c) {
			return true
		}
	}
	return false
}

// explained reports whether a cause is severe enough for what is observed,
// and explains it: on the same side of the limits, and not by so much less.
func (m moment) explained(s State, c Cause) bool {
	severity := m.due(s).rank()
	if s.Told() {
		severity = max(severity, s.Severity.rank())
	}
	o := m.seen
	switch {
	case c.Severity.rank() < severity:
		return false
	case o.Value == nil || c.Value == nil || c.Limit == nil || o.limit() == nil || c.Unit != m.rule.Unit:
		return true
	}
	over := o.limit() == o.High // in the deadband too
	if over != (*c.Value >= *c.Limit) {
		return false
	}
	there := *c.Value
	if c.Now != nil {
		there = *c.Now
	}
	further := *o.Value - c.Usual - there
	if !over {
		further = -further
	}
	return c.Where != Outer || m.rule.Unit != "celsius" || further <= explainsUpTo
}
