// Package book is the keeper's book: dated entries, and the fold of entries
// into the state of the room.
//
// It is pure. Entries are never changed or removed; a mistake is mended by a
// further entry. They fold in the order of (event time, sequence), so that a
// late entry about last week lands in last week.
package book

import (
	"encoding/json"
	"time"
)

// An Entry is one dated line of the keeper's book.
type Entry struct {
	// Seq is unique and never reused; the order of entries about one moment.
	// Zero: not yet entered.
	Seq uint64 `json:"seq"`
	// Request is the client's own id of the request; a second entry with the
	// same one is the same entry. May be empty.
	Request string `json:"request,omitempty"`
	// Replaces is the entry that this one stands for from now on: a
	// correction. Both stay in the book; the earlier one does not count.
	Replaces uint64 `json:"replaces,omitempty"`
	// At is when it happened, Made when it was written down. UTC.
	At   time.Time `json:"at"`
	Made time.Time `json:"made"`
	// Zone is the IANA name of the zone it was made in: a laying date is a
	// date in that zone.
	Zone string `json:"zone"`
	By   string `json:"by,omitempty"`
	Kind Kind   `json:"kind"`
	// Data is the kind's own object; see Kinds.
	Data json.RawMessage `json:"data"`
}
