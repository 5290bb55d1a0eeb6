package store

import (
	"errors"
	"fmt"
)

// What Open may refuse with; see errors.Is.
var (
	ErrHeld  = errors.New("another process holds the folder")
	ErrNewer = errors.New("written by a newer version")
)

// told is an error for the keeper: one sentence what, one how to mend it.
type told struct {
	what, hint string
	is         error
}

func (t *told) Error() string { return t.what }
func (t *told) Unwrap() error { return t.is }

// Hint says how to mend it.
func (t *told) Hint() string { return t.hint }

// Hint gives the sentence that says how to mend err, "" if there is none.
func Hint(err error) string {
	var h interface{ Hint() string }
	if errors.As(err, &h) {
		return h.Hint()
	}
	return ""
}

func newer(name string, got, known uint32) error {
	return &told{
		what: fmt.Sprintf("open %s: it has schema %d, this program knows %d", name, got, known),
		hint: "Run the newer version of the program, or restore a backup made by this one.",
		is:   ErrNewer,
	}
}
