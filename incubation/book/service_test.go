package book_test

import (
	"testing"
	"time"

	"clutchd/incubation/book"
)

// from is so many days after a day, of the test's calendar.
func from(n int, days float64) time.Time {
	return day(float64(n)).Add(time.Duration(days * 24 * float64(time.Hour)))
}

func TestOutOfService(t *testing.T) {
	s := book.Fold(number(append(room(),
		at(10, book.KindService, book.ServiceData{Place: "warm", Until: from(10, 2), Why: "new fan"}),
		at(20, book.KindService, book.ServiceData{Place: "warm", Until: from(20, 2)}),
		at(21, book.KindService, book.ServiceData{Place: "warm", Back: true}),
		at(30, book.KindService, book.ServiceData{Place: "box-1", Until: from(30, 1)}),
		at(40, book.KindService, book.ServiceData{Place: "warm", Until: from(40, 1)}),
		at(40, book.KindService, book.ServiceData{Place: "warm", Until: from(40, 3)}),
	)...))
	if len(s.Problems) > 0 {
		t.Fatal(s.Problems)
	}
	for _, c := range []struct {
		why   string
		place string
		at    time.Time
		of    string
	}{
		{"not yet", "warm", from(10, -0.01), ""},
		{"from its beginning on", "warm", from(10, 0), "warm"},
		{"with the boxes in it", "box-1", from(11, 0), "warm"},
		{"not what stands elsewhere", "pen", from(11, 0), ""},
		{"until its end, without that", "warm", from(12, 0), ""},
		{"a second time", "warm", from(20, 0.5), "warm"},
		{"until it is back", "warm", from(21, 0), ""},
		{"a box by itself", "box-1", from(30, 0.5), "box-1"},
		{"and not what it stands in", "warm", from(30, 0.5), ""},
		{"for longer, as the later entry says", "warm", from(42, 0.5), "warm"},
	} {
		t.Run(c.why, func(t *testing.T) {
			v, of := s.ServiceAt(c.place, c.at)
			if of != c.of {
				t.Errorf("out of service with %q, want %q", of, c.of)
			}
			if of != "" && !c.at.Before(v.Until) {
				t.Errorf("until %s, which is over", v.Until)
			}
		})
	}
	if v, _ := s.ServiceAt("box-1", from(12, 0.5)); !v.Until.Equal(from(12, 0)) || v.Why != "new fan" {
		t.Errorf("the latest that is over is %+v", v)
	}
}

func TestServiceThatMakesNoSense(t *testing.T) {
	s := folded(t, number(ended()...))
	for _, c := range []struct {
		why   string
		data  book.ServiceData
		field string
	}{
		{"of a place that nobody knows", book.ServiceData{Place: "none", Until: from(50, 1)}, "place"},
		{"of one out of use", book.ServiceData{Place: "old", Until: from(50, 1)}, "place"},
		{"without an end", book.ServiceData{Place: "warm"}, "until"},
		{"with its end before it", book.ServiceData{Place: "warm", Until: from(49, 0)}, "until"},
		{"for more than a week", book.ServiceData{Place: "warm", Until: from(57, 0.01)}, "until"},
		{"back, though it is not out", book.ServiceData{Place: "warm", Back: true}, "place"},
		{"back until then", book.ServiceData{Place: "warm", Back: true, Until: from(50, 1)}, "until"},
	} {
		t.Run(c.why, func(t *testing.T) {
			if err := book.Check(s, at(50, book.KindService, c.data)); blamed(err) != c.field {
				t.Errorf("it says %v, want a problem with %q", err, c.field)
			}
		})
	}
}
