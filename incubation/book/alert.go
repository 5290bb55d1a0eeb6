package book

import (
	"time"
)

// maxAlert bounds an alert's id: a rule's code, a kind and the id of what it
// is about.
const maxAlert = 200

// MaxShelf is the longest that an alert may be shelved for, and a place may be
// out of service: what is to stay quiet for longer belongs in its limits.
const MaxShelf = 7 * 24 * time.Hour

// OfAlert reports whether entries of the kind tell what a person did about an
// alert. They are written by doing it, never by themselves, and cannot be
// taken back: the deed would stay.
func OfAlert(kind Kind) bool {
	return kind == KindAcknowledged || kind == KindShelved || kind == KindUnshelved
}

func (d AlertData) shape(time.Time) *Problem {
	return first(checkWords("alert", d.Alert, maxAlert),
		checkWords("occurrence", d.Occurrence, maxAlert), checkText("why", d.Why, maxCause))
}

// sense asks nothing: alerts are not in the book.
func (d AlertData) sense(*State, time.Time) *Problem { return nil }

// write does nothing: an alert's state is kept beside the book.
func (d AlertData) write(*State, time.Time, uint64) {}

func (d ShelvedData) shape(at time.Time) *Problem {
	return first(d.AlertData.shape(at), checkTime("until", d.Until), lasts("until", at, d.Until))
}

// lasts accepts an end after the beginning, and not too long after.
func lasts(field string, from, until time.Time) *Problem {
	switch length := until.Sub(from); {
	case length <= 0:
		return problem(field, "%s is not later than its beginning", until.UTC().Format(shown))
	case length > MaxShelf:
		return problem(field, "%s is more than %d days away", until.UTC().Format(shown),
			MaxShelf/(24*time.Hour))
	}
	return nil
}
