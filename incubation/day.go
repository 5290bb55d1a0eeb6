package incubation

import "time"

// DayStart is when the day of a time begins in its own zone: at midnight, or
// later on a day whose clocks go forward then.
func DayStart(t time.Time) time.Time {
	y, m, d := t.Date()
	begins := time.Date(y, m, d, 0, 0, 0, 0, t.Location())
	if begins.Day() != d {
		begins = begins.Add(time.Hour)
	}
	return begins
}
