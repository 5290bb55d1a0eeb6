package sensors

import (
	"time"

	"clutchd/incubation"
)

// A Contact is a yes/no input: mains present, door open, water where none
// should be.
type Contact struct {
	// ID is stable over restarts: lower case letters, digits and dashes.
	ID     string
	Kind   incubation.ContactKind
	Source string // where it is read, for the keeper: a line, or a file
	// Interval is how often it is told of though nothing changed.
	Interval time.Duration
}

// A ContactOutcome is what one look at a contact gave: a state, or a Fault.
// A line that cannot be read is never "mains present" nor "door shut".
type ContactOutcome struct {
	Contact string
	Time    time.Time
	On      bool   // valid when Fault is nil; its meaning is the kind's
	Detail  string // what else it tells, for people: "battery 64 %"; may be empty
	Fault   *Fault // its Probe is the contact's id
}
