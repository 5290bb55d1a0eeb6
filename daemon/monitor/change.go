package monitor

import (
	"time"

	"clutchd/incubation/book"
)

// A Change is anything that a person or another program does to the room. One
// of its fields is set. It goes through Monitor.Do, which checks it, makes it
// durable and then makes it true, one at a time and never during a tick.
type Change struct {
	Entry       *book.Entry
	Acknowledge *Acknowledge
	Shelve      *Shelve
	ClockOffer  *ClockOffer
}

// Acknowledge says that a person has seen an occurrence of an alert.
type Acknowledge struct {
	Alert      string
	Occurrence string // must be the alert's present one
	By         string
}

// Shelve hides an alert's occurrence for a time.
type Shelve struct {
	Alert      string
	Occurrence string
	For        time.Duration // at most a week
	By         string
}

// ClockOffer is the time a phone that opened a page believes it is. It is
// taken only while the clock is not trusted.
type ClockOffer struct {
	Now time.Time
	By  string
}

// Done is what Do made of a change.
type Done struct {
	Entry     book.Entry // as entered, with Seq and Made; the earlier one for a repeated Request
	Duplicate bool       // the same request was entered before
}
