package alerts

// The reasons that a state changes. ReasonStill is none: nothing changed but,
// perhaps, the worst value, the eggs and the text.
const (
	ReasonStill           Reason = ""
	ReasonOnDelayStarted  Reason = "on-delay-started"  // the condition began to hold
	ReasonOnDelayEnded    Reason = "on-delay-ended"    // it went before the on-delay was over
	ReasonRaised          Reason = "raised"            // it held for the whole on-delay
	ReasonOffDelayStarted Reason = "off-delay-started" // the condition of an active alert went
	ReasonOffDelayEnded   Reason = "off-delay-ended"   // it came back before the off-delay was over
	ReasonCleared         Reason = "cleared"           // it stayed away for the whole off-delay
	ReasonPassed          Reason = "passed"            // the same of an event, whose end is no news
	ReasonLatched         Reason = "latched"           // it stayed away; the alert waits to be seen
	ReasonAgain           Reason = "again"             // the condition of a latched alert came back
	ReasonUnlatched       Reason = "unlatched"         // a latched alert was acknowledged: it ends
	ReasonAcknowledged    Reason = "acknowledged"
	ReasonShelved         Reason = "shelved"
	ReasonUnshelved       Reason = "unshelved" // off the shelf, by time or by someone, still active
	ReasonEscalated       Reason = "escalated" // more severe than it was
	ReasonReminded        Reason = "reminded"  // nobody has acknowledged it for long
	ReasonRearmed         Reason = "rearmed"   // acknowledged, and yet it goes on: to be seen again
	ReasonEased           Reason = "eased"     // less severe than it was
	ReasonWithdrawn       Reason = "withdrawn" // its subject is gone
)

// Tells reports whether a change for this reason makes a notice.
func Tells(r Reason) bool {
	switch r {
	case ReasonRaised, ReasonCleared, ReasonLatched, ReasonAgain, ReasonUnlatched,
		ReasonAcknowledged, ReasonShelved, ReasonUnshelved, ReasonEscalated, ReasonReminded,
		ReasonRearmed, ReasonWithdrawn, ReasonDaily:
		return true
	}
	return false
}

// rank orders severities, mildest first; an unknown one is below all.
func (s Severity) rank() int {
	switch s {
	case Info:
		return 1
	case Warning:
		return 2
	case Critical:
		return 3
	}
	return 0
}
