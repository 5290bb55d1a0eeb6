package book_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"
	_ "time/tzdata"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// limitsOf reads limits as a program would send them.
func limitsOf(t *testing.T, text string) book.LimitsData {
	t.Helper()
	d, err := book.Decode(book.Entry{Kind: book.KindLimits, Data: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	return d.(book.LimitsData)
}

// said tells limits as "low-high", and what made them.
func said(p book.Period) string {
	side := func(c *incubation.Celsius) string {
		if c == nil {
			return ""
		}
		return fmt.Sprint(float64(*c))
	}
	out := side(p.LowCelsius) + "-" + side(p.HighCelsius)
	for _, w := range []struct {
		is   bool
		word string
	}{{p.Night, " night"}, {p.Cooling, " cooling"}, {p.Settles, " settles"}} {
		if w.is {
			out += w.word
		}
	}
	return out
}

const yearRound = `{"place":"pen","low_celsius":24,"high_celsius":34,` +
	`"night":{"from":"21:00","to":"07:00","low_celsius":18,"high_celsius":26},` +
	`"cooling":{"from":"11-15","to":"02-29","low_celsius":10,"high_celsius":20}}`

func TestLimitsInForce(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	at := func(local string) time.Time {
		t.Helper()
		for _, form := range []string{"2006-01-02 15:04", "2006-01-02 15:04 -0700"} {
			if at, err := time.ParseInLocation(form, local, zone); err == nil {
				return at.In(zone)
			}
		}
		t.Fatal(local)
		return time.Time{}
	}
	for _, c := range []struct{ why, limits, at, want string }{
		{"by day", yearRound, "2026-06-14 12:00", "24-34"},
		{"at dusk it is given two hours to cool", yearRound, "2026-06-14 21:00", "18-34 night settles"},
		{"for as long", yearRound, "2026-06-14 22:59", "18-34 night settles"},
		{"then the night's hold", yearRound, "2026-06-14 23:00", "18-26 night"},
		{"over midnight", yearRound, "2026-06-15 03:00", "18-26 night"},
		{"at dawn it is given two hours to warm up", yearRound, "2026-06-15 07:00", "18-34 settles"},
		{"then the day's hold", yearRound, "2026-06-15 09:00", "24-34"},
		{"the cooling season begins with its first day, and the room is given that", yearRound, "2026-11-15 12:00", "10-34 cooling settles"},
		{"after a day it holds, by night too", yearRound, "2026-11-17 03:00", "10-20 night cooling"},
		{"over New Year", yearRound, "2027-01-01 12:00", "10-20 cooling"},
		{"until its last day is over", yearRound, "2027-02-28 23:59", "10-20 night cooling"},
		{"and then for a day both", yearRound, "2027-03-01 12:00", "10-34 settles"},
		{"a leap year's 29 February is in it", yearRound, "2028-02-29 12:00", "10-20 cooling"},
		{"what a night leaves unsaid is the day's", `{"place":"pen","low_celsius":24,"high_celsius":34,` +
			`"night":{"from":"21:00","to":"07:00","low_celsius":18}}`, "2026-06-15 03:00", "18-34 night"},
		{"a night after midnight", `{"place":"pen","night":{"from":"00:30","to":"05:00","low_celsius":18}}`, "2026-06-15 03:00", "18- night"},
		{"a day without limits has none while it settles", `{"place":"pen","night":{"from":"00:30","to":"05:00","low_celsius":18}}`, "2026-06-15 06:00", "- settles"},
		// The clock goes ahead at 2:00 on 29 March 2026, and back at 3:00 on 25
		// October: what it shows counts.
		{"the night that is an hour shorter has begun", yearRound, "2026-03-28 23:30", "18-26 night"},
		{"and ends at seven", yearRound, "2026-03-29 06:59 +0200", "18-26 night"},
		{"which is when the day begins", yearRound, "2026-03-29 07:00 +0200", "18-34 settles"},
		{"the night that is an hour longer ends at seven", yearRound, "2026-10-25 06:59 +0100", "18-26 night"},
		{"too", yearRound, "2026-10-25 07:00 +0100", "18-34 settles"},
		{"a night that begins in the hour that is not there begins behind it", `{"place":"pen","low_celsius":24,` +
			`"night":{"from":"02:30","to":"07:00","low_celsius":18}}`, "2026-03-29 03:00 +0200", "18- night settles"},
		{"not before it", `{"place":"pen","low_celsius":24,` +
			`"night":{"from":"02:30","to":"07:00","low_celsius":18}}`, "2026-03-29 01:59 +0100", "24-"},
		{"a night that begins in the hour that comes twice begins twice", `{"place":"pen","low_celsius":24,` +
			`"night":{"from":"02:30","to":"07:00","low_celsius":18}}`, "2026-10-25 02:40 +0200", "18- night settles"},
		{"between the two the wider holds all along", `{"place":"pen","low_celsius":24,` +
			`"night":{"from":"02:30","to":"07:00","low_celsius":18}}`, "2026-10-25 02:10 +0100", "18- settles"},
	} {
		t.Run(c.why, func(t *testing.T) {
			if got := said(limitsOf(t, c.limits).At(at(c.at))); got != c.want {
				t.Errorf("at %s: %s, want %s", c.at, got, c.want)
			}
		})
	}
}

func TestLimitsThatMakeNoSense(t *testing.T) {
	s := folded(t, number(ended()...))
	for _, c := range []struct{ why, limits, field string }{
		{"a whole year's", `{"place":"pen","low_celsius":24,"high_celsius":34,"night":{"from":"21:00","to":"07:00","low_celsius":18,"high_celsius":26}}`, ""},
		{"a night of no length", `{"place":"pen","night":{"from":"21:00","to":"21:00","low_celsius":18}}`, "night_to"},
		{"a night without limits", `{"place":"pen","night":{"from":"21:00","to":"07:00"}}`, "night_from"},
		{"a night's low over its high", `{"place":"pen","night":{"from":"21:00","to":"07:00","low_celsius":28,"high_celsius":26}}`, "night_low_celsius"},
		{"a night's low over the day's high, which it keeps", `{"place":"pen","high_celsius":26,"night":{"from":"21:00","to":"07:00","low_celsius":28}}`, "night_low_celsius"},
		{"a night too hot to be meant", `{"place":"pen","night":{"from":"21:00","to":"07:00","high_celsius":80}}`, "night_high_celsius"},
		{"a season without limits", `{"place":"pen","cooling":{"from":"11-15","to":"02-28"}}`, "cooling_from"},
		{"a season without an end", `{"place":"pen","cooling":{"from":"11-15","high_celsius":20}}`, "cooling_to"},
		{"a season's high under the day's low, which it keeps", `{"place":"pen","low_celsius":24,"cooling":{"from":"11-15","to":"02-28","high_celsius":20}}`, "cooling_low_celsius"},
		{"a rule that nothing is said of", `{"place":"pen","rule_overrides":{"too-warm":{}}}`, "rule_overrides"},
		{"a delay of days", `{"place":"pen","rule_overrides":{"too-warm":{"on_delay_seconds":90000}}}`, "rule_overrides"},
	} {
		t.Run(c.why, func(t *testing.T) {
			err := book.Check(s, at(50, book.KindLimits, json.RawMessage(c.limits)))
			if blamed(err) != c.field {
				t.Errorf("it says %v, want a problem with %q", err, c.field)
			}
		})
	}
}

func TestTimesOfDayAndYear(t *testing.T) {
	for text, ok := range map[string]bool{
		`"00:00"`: true, `"23:59"`: true, `"24:00"`: false, `"7:00"`: false, `"07:00:00"`: false, `7`: false,
	} {
		var c book.ClockTime
		if err := json.Unmarshal([]byte(text), &c); (err == nil) != ok {
			t.Errorf("time of day %s: %v", text, err)
		} else if out, _ := json.Marshal(c); ok && string(out) != text {
			t.Errorf("time of day %s is written %s", text, out)
		}
	}
	for text, ok := range map[string]bool{
		`"01-01"`: true, `"02-29"`: true, `"12-31"`: true, `"02-30"`: false, `"13-01"`: false, `"1-1"`: false,
	} {
		var d book.YearDay
		if err := json.Unmarshal([]byte(text), &d); (err == nil) != ok {
			t.Errorf("day of the year %s: %v", text, err)
		} else if out, _ := json.Marshal(d); ok && string(out) != text {
			t.Errorf("day of the year %s is written %s", text, out)
		}
	}
}
