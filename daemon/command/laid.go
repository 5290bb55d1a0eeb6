package command

import (
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
)

// ParseLaid reads a laying time: one time, one date (any time of that day), or
// two of them as FROM/TO. Without a zone it is UTC. "" is the zero laying.
func ParseLaid(text string) (incubation.Laying, error) {
	if text == "" {
		return incubation.Laying{}, nil
	}
	from, to, both := strings.Cut(text, "/")
	a, b, err := parseWhen(from)
	then := a
	if err == nil && both {
		then, b, err = parseWhen(to)
	}
	if err != nil || then.Before(a) {
		return incubation.Laying{}, &WrongCall{
			What: fmt.Sprintf("-laid %.60q is not a time, a date, or FROM/TO", text),
			Hint: "such as 2026-03-01, 2026-03-01T20:00:00Z or 2026-03-01T08:00:00Z/2026-03-01T20:00:00Z",
		}
	}
	return incubation.Laying{From: a, To: b}, nil
}

// FormatLaid writes a laying time as ParseLaid reads it; of the zero laying "".
func FormatLaid(laid incubation.Laying) string {
	if laid == (incubation.Laying{}) {
		return ""
	}
	from := laid.From.UTC().Format(time.RFC3339Nano)
	if laid.From.Equal(laid.To) {
		return from
	}
	return from + "/" + laid.To.UTC().Format(time.RFC3339Nano)
}

// firstYear and lastTime are when eggs can have been laid: further off,
// arithmetic on times would end.
const firstYear = 1970

var lastTime = time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)

// parseWhen reads a time, or a date as its whole day.
func parseWhen(text string) (from, to time.Time, err error) {
	for _, layout := range []string{
		time.DateOnly, time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04",
		"2006-01-02 15:04:05", "2006-01-02 15:04",
	} {
		from, err = time.Parse(layout, text)
		if err != nil {
			continue
		}
		from, to = from.UTC(), from.UTC()
		if layout == time.DateOnly {
			to = from.Add(24 * time.Hour)
		}
		if from.Year() < firstYear || to.After(lastTime) {
			break
		}
		return from, to, nil
	}
	return time.Time{}, time.Time{},
		fmt.Errorf("parse time %.60q: unknown form, or a year out of bounds", text)
}
