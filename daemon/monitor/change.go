package monitor

import (
	"time"

	"clutchd/incubation/book"
)

// A Change is anything that a person or another program does to the room. One
// of its fields is set. It goes through Monitor.Do.
type Change struct {
	Entry       *book.Entry
	Acknowledge *Acknowledge
	Shelve      *Shelve
	Unshelve    *Unshelve
	ClockOffer  *ClockOffer
}

// Acknowledge says that a person has seen an occurrence of an alert.
type Acknowledge struct {
	Alert      string
	Occurrence string // must be the alert's present one
	By         string
	Why        string // may be empty
}

// Shelve hides an alert's occurrence for a time, a week at most.
type Shelve struct {
	Alert      string
	Occurrence string        // must be the alert's present one
	Until      time.Time     // when the shelf ends; zero: after For
	For        time.Duration // not looked at if Until is set
	By         string
	Why        string // may be empty
}

// Unshelve takes an alert's occurrence off the shelf before its time.
type Unshelve struct {
	Alert      string
	Occurrence string // must be the alert's present one
	By         string
	Why        string // may be empty
}

// ClockOffer is the time a phone that opened a page believes it is. It is
// taken only while the clock is not trusted.
type ClockOffer struct {
	Now time.Time
	By  string
}

// Done is what Do made of a change.
type Done struct {
	// Entry is what was written, with Seq and Made; the earlier one for a
	// repeated Request, the zero one where nothing was.
	Entry     book.Entry
	Duplicate bool // the same was done before: nothing changed
}
