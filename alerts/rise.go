package alerts

import (
	"fmt"
	"time"
)

// A Rise makes an alert more severe once it has been told for long. It counts
// only where the rule has its full severity: with eggs at stake, for a rule
// that is milder without.
type Rise struct {
	After time.Duration // from Raised
	To    Severity
}

// due is how loudly the state is to be told by now, its rises included.
func (m moment) due(s State) Severity {
	severity := m.rule.severity(m.seen)
	if m.seen.Severity != "" || severity != m.rule.Severity || s.Raised.IsZero() || !s.Told() {
		return severity
	}
	for _, r := range m.rule.Rises {
		if m.now.Sub(s.Raised) >= r.After && r.To.rank() > severity.rank() {
			severity = r.To
		}
	}
	return severity
}

// severe is the same as far as it is seen: an alert rises only while its
// condition holds, and does not fall back for want of a value.
func (m moment) severe(s State) Severity {
	severity := m.due(s)
	if severity.rank() > s.Severity.rank() && (s.Phase != Active || m.is != holds) {
		return m.rule.severity(m.seen)
	}
	return severity
}

// escalate makes the alert more severe: it has to be seen again.
func (s State) escalate(m moment, to Severity) (State, Reason) {
	s = s.offShelf()
	s.Severity = to
	s.Acknowledged, s.AcknowledgedBy = time.Time{}, ""
	s.Lead = fmt.Sprintf("Now %s, %s: ", to, m.sofar(s))
	return s.told(m.now), ReasonEscalated
}
