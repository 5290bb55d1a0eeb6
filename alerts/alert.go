// Package alerts decides what is worth waking someone for and brings it to
// them: rules, the pure judge, notices and the outbox.
//
// It knows no clock, disk, network or sensor: the caller says what was
// observed and what time it is. Terms are those of IEC 62682 / ISA-18.2:
// deadband, on-delay, off-delay, shelved, out of service, latching.
package alerts

import "time"

// Severity orders alerts by how soon someone must act.
type Severity string

// The severities, mildest first.
const (
	Info     Severity = "notice"   // worth knowing, no haste
	Warning  Severity = "warning"  // look today
	Critical Severity = "critical" // wake up
)

// SubjectKind says what kind of thing an alert is about.
type SubjectKind string

// What an alert can be about.
const (
	PlaceSubject   SubjectKind = "place"
	ProbeSubject   SubjectKind = "probe"
	ContactSubject SubjectKind = "contact"
	EggSubject     SubjectKind = "egg"
	ClutchSubject  SubjectKind = "clutch"
	FemaleSubject  SubjectKind = "female"
	SystemSubject  SubjectKind = "system"
)

// A Subject is what an alert is about.
type Subject struct {
	Kind SubjectKind `json:"kind"`
	ID   string      `json:"id"`
	Name string      `json:"name"` // for people
}

// AlertID names the alert of a rule about a subject; fit for a topic level.
func AlertID(rule string, s Subject) string {
	return rule + "." + string(s.Kind) + "." + s.ID
}

// Phase is where an alert stands.
type Phase string

// The phases of an alert. Acknowledged, shelved and latched are flags beside.
const (
	Normal     Phase = "normal"
	InOnDelay  Phase = "in-on-delay" // the condition holds, not yet for long enough
	Active     Phase = "active"
	InOffDelay Phase = "in-off-delay" // still told as active: the condition went just now
	Cleared    Phase = "cleared"      // over, not yet acknowledged
)

// A State is one alert as it stands: rule and subject, and the occurrence if
// there is one. Its zero value, with Rule and Subject set, is normal; one that
// was raised lately is kept for its Raises while it is.
type State struct {
	Alert      string    `json:"alert"`
	Occurrence string    `json:"occurrence,omitempty"` // opaque, never reused; "" unless raised
	Rule       string    `json:"rule"`
	Subject    Subject   `json:"subject"`
	Phase      Phase     `json:"state"`
	Severity   Severity  `json:"severity"`
	Since      time.Time `json:"since"`  // when the condition began
	Raised     time.Time `json:"raised"` // when it became active; zero before
	Ended      time.Time `json:"ended"`  // when the condition last went; zero while it holds
	Cleared    time.Time `json:"cleared"`

	Acknowledged   time.Time `json:"acknowledged"` // zero: not
	AcknowledgedBy string    `json:"acknowledged_by,omitempty"`
	ShelvedUntil   time.Time `json:"shelved_until"` // zero: not shelved
	ShelvedBy      string    `json:"shelved_by,omitempty"`
	ShelvedWhy     string    `json:"shelved_why,omitempty"`
	Latched        bool      `json:"latched,omitempty"` // stays active until acknowledged

	// Paused is since when there has been no believable value; zero: there is
	// one. Pending is when the condition began to hold again while the alert
	// was cleared; zero: it has not.
	Paused  time.Time `json:"paused,omitzero"`
	Pending time.Time `json:"pending,omitzero"`

	// Reminded is when it was last told again, zero: only when it was raised;
	// Reminders is how many times it was since anything about it changed.
	Reminded  time.Time `json:"reminded,omitzero"`
	Reminders int       `json:"reminders,omitempty"`
	// Raises are the last times it was raised, within its rule's Flapping; they
	// outlive the occurrence. Chatters: it comes and goes, and stays one
	// occurrence, that came back the last time at Back; zero: it did not yet.
	Raises   []time.Time `json:"raises,omitempty"`
	Chatters bool        `json:"chatters,omitempty"`
	Back     time.Time   `json:"back,omitzero"`
	Gathered bool        `json:"gathered,omitempty"` // a flood's alert tells of it: it is not told by itself
	Lead     string      `json:"lead,omitempty"`     // what a notice of this change says before Text

	Value *float64 `json:"value,omitempty"` // worst value seen in this occurrence
	Limit *float64 `json:"limit,omitempty"`
	Unit  string   `json:"unit,omitempty"` // "celsius", "ratio", "seconds"
	Eggs  []string `json:"eggs,omitempty"` // ids of the eggs it touches
	Text  string   `json:"text"`           // for a half-awake person
}

// Told reports whether the alert counts as active for the keeper.
func (s State) Told() bool { return s.Phase == Active || s.Phase == InOffDelay }

// Lingers reports whether the state is to be kept: it is not normal, or was not
// a little while ago.
func (s State) Lingers() bool {
	return s.Phase != Normal || !s.ShelvedUntil.IsZero() || len(s.Raises) > 0
}

// Reason names why a state changed; a table of them is in the judge's test.
type Reason string

// A Notice is one message that leaves the house: the alert as it was when
// something about it changed.
type Notice struct {
	ID     uint64    `json:"id"`
	Reason Reason    `json:"reason"` // "raised", "cleared", "acknowledged", …
	Time   time.Time `json:"time"`
	State
}
