package book_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/incubation/book"
)

func TestWhatWasDoneAboutAnAlert(t *testing.T) {
	seen := book.AlertData{Alert: "too-warm.place.inc-1", Occurrence: "o7", Why: "on it"}
	shelf := func(days float64) book.ShelvedData {
		return book.ShelvedData{
			AlertData: seen, Until: day(50).Add(time.Duration(days * 24 * float64(time.Hour))),
		}
	}
	long := seen
	long.Why = strings.Repeat("x", 201)
	for _, c := range []struct {
		why   string
		entry book.Entry
		field string // of the problem, "" for none
	}{
		{"seen", at(50, book.KindAcknowledged, seen), ""},
		{"off the shelf", at(50, book.KindUnshelved, seen), ""},
		{"shelved for an hour", at(50, book.KindShelved, shelf(1./24)), ""},
		{"shelved for a week", at(50, book.KindShelved, shelf(7)), ""},
		{"shelved for longer", at(50, book.KindShelved, shelf(7.01)), "until"},
		{"shelved for no time", at(50, book.KindShelved, shelf(0)), "until"},
		{"shelved into the past", at(50, book.KindShelved, shelf(-1)), "until"},
		{"shelved without an end", at(50, book.KindShelved, book.ShelvedData{AlertData: seen}), "until"},
		{"of no alert", at(50, book.KindAcknowledged, book.AlertData{Occurrence: "o7"}), "alert"},
		{"of no occurrence", at(50, book.KindAcknowledged, book.AlertData{Alert: "a"}), "occurrence"},
		{"a reason like a letter", at(50, book.KindAcknowledged, long), "why"},
	} {
		t.Run(c.why, func(t *testing.T) {
			err := book.Check(folded(t, number(ended()...)), c.entry)
			if c.field == "" && err != nil || c.field != "" && blamed(err) != c.field {
				t.Errorf("it says %v, want a problem with %q", err, c.field)
			}
		})
	}
}

// blamed is the field of a problem, "" of none.
func blamed(err error) string {
	if p, ok := err.(*book.Problem); ok {
		return p.Field
	}
	return ""
}

// What was done stays done: its entry is never taken back.
func TestADeedIsNotTakenBack(t *testing.T) {
	seen := at(50, book.KindAcknowledged, book.AlertData{Alert: "a.place.b", Occurrence: "o7"})
	entries := number(append(ended(), seen)...)
	s := folded(t, entries)
	err := book.Check(s, at(60, book.KindVoid, book.VoidData{Entry: entries[len(entries)-1].Seq}))
	if blamed(err) != "entry" {
		t.Errorf("taking an acknowledgement back: %v", err)
	}
}
