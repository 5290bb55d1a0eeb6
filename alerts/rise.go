package alerts

import "time"

// A Rise makes an alert more severe once it has been told for long. It counts
// only where the rule has its full severity: with eggs at stake, for a rule
// that is milder without.
type Rise struct {
	After time.Duration // from Raised
	To    Severity
}

// severe is how loudly the state is to be told by now, its rises included. An
// alert rises only on what is seen to hold, and never falls back for want of
// a value.
func (m moment) severe(s State) Severity {
	severity := m.rule.severity(m.seen)
	if m.seen.Severity != "" || severity != m.rule.Severity || s.Raised.IsZero() {
		return severity
	}
	for _, r := range m.rule.Rises {
		risen := r.To.rank() <= s.Severity.rank()
		if m.now.Sub(s.Raised) >= r.After && r.To.rank() > severity.rank() &&
			(risen || s.Phase == Active && m.is == holds) {
			severity = r.To
		}
	}
	return severity
}
