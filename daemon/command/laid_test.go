package command_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/command"
	"clutchd/incubation"
)

func TestParseLaid(t *testing.T) {
	at := func(text string) time.Time {
		when, err := time.Parse(time.RFC3339, text)
		if err != nil {
			t.Fatal(err)
		}
		return when
	}
	for _, row := range []struct{ sentence, text, from, to string }{
		{"a time", "2026-03-01T20:00:00Z", "2026-03-01T20:00:00Z", "2026-03-01T20:00:00Z"},
		{"a time of a zone", "2026-03-01T20:00:00+01:00", "2026-03-01T19:00:00Z", "2026-03-01T19:00:00Z"},
		{"a time without one is UTC", "2026-03-01 20:00", "2026-03-01T20:00:00Z", "2026-03-01T20:00:00Z"},
		{"a date is its whole day", "2026-03-01", "2026-03-01T00:00:00Z", "2026-03-02T00:00:00Z"},
		{
			"between two times", "2026-03-01T08:00/2026-03-01T20:00",
			"2026-03-01T08:00:00Z", "2026-03-01T20:00:00Z",
		},
		{
			"from a date to a date includes both", "2026-03-01/2026-03-03", "2026-03-01T00:00:00Z",
			"2026-03-04T00:00:00Z",
		},
	} {
		got, err := command.ParseLaid(row.text)
		if err != nil || !got.From.Equal(at(row.from)) || !got.To.Equal(at(row.to)) {
			t.Errorf("%s: %q is %v to %v, %v; want %s to %s", row.sentence, row.text, got.From, got.To, err,
				row.from, row.to)
		}
	}
	for _, row := range []struct{ sentence, text string }{
		{"a word", "yesterday"},
		{"backwards", "2026-03-02/2026-03-01"},
		{"half of two", "2026-03-01/"},
		{"three of them", "2026-03-01/2026-03-02/2026-03-03"},
		{"a day that is none", "2026-02-30"},
		{"a year before loggers", "0001-01-01"},
		{"a year beyond arithmetic", "9999-12-31"},
	} {
		got, err := command.ParseLaid(row.text)
		_, wrong := errors.AsType[*command.WrongCall](err)
		if !wrong || got != (incubation.Laying{}) {
			t.Errorf("%s: %q gives %v, %v; want a wrong call and nothing", row.sentence, row.text, got, err)
		}
	}
}

// What is accepted is written back the same; what is refused gives nothing,
// and two lines.
func FuzzParseLaid(f *testing.F) {
	for _, text := range []string{
		"", "2026-03-01", "2026-03-01T20:00:00Z", "2026-03-01 20:00", "2026-03-01/2026-03-02",
		"2026-03-01T20:00:00+01:00/2026-03-02", "/",
		"2026-03-01T20:00:00.5Z", "1970-01-01T00:00:00+14:00",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		laid, err := command.ParseLaid(text)
		if err != nil {
			if laid != (incubation.Laying{}) || strings.Count(err.Error(), "\n") != 1 {
				t.Fatalf("%q is refused with %v and %q", text, laid, err)
			}
			return
		}
		if laid.To.Before(laid.From) {
			t.Fatalf("%q ends before it begins: %v", text, laid)
		}
		again, err := command.ParseLaid(command.FormatLaid(laid))
		if err != nil || !again.From.Equal(laid.From) || !again.To.Equal(laid.To) {
			t.Fatalf("%q is %v, written back it is %v, %v", text, laid, again, err)
		}
	})
}
