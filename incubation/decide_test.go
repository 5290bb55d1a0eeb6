package incubation_test

import (
	"testing"
	"time"

	"clutchd/incubation"
)

// What is told of the last day to change is never later than the last change,
// to the end of a day that is told.
func TestDecideBy(t *testing.T) {
	kolkata := time.FixedZone("five and a half hours east", 5*3600+1800)
	now := time.Date(2026, 5, 10, 12, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		sentence string
		last     time.Time
		zone     *time.Location
		by       time.Time
		hour     bool
	}{
		{"no last change, nothing to decide by", time.Time{}, time.UTC, time.Time{}, false},
		{
			"early on a far day: the day before is the last whole one",
			time.Date(2026, 5, 20, 0, 40, 0, 0, time.UTC), time.UTC,
			time.Date(2026, 5, 19, 0, 0, 0, 0, time.UTC), false,
		},
		{
			"on the first of a month: the last of the one before",
			time.Date(2026, 6, 1, 9, 0, 0, 0, time.UTC), time.UTC,
			time.Date(2026, 5, 31, 0, 0, 0, 0, time.UTC), false,
		},
		{
			"the keeper's day, not Greenwich's",
			time.Date(2026, 5, 20, 20, 0, 0, 0, time.UTC), kolkata,
			time.Date(2026, 5, 20, 0, 0, 0, 0, kolkata), false,
		},
		{
			"near: the hour, without minutes that nobody knows",
			time.Date(2026, 5, 12, 1, 13, 59, 7, time.UTC), time.UTC,
			time.Date(2026, 5, 12, 1, 0, 0, 0, time.UTC), true,
		},
		{
			"near, half an hour off: still a full hour on the wall",
			time.Date(2026, 5, 12, 1, 13, 0, 0, time.UTC), kolkata,
			time.Date(2026, 5, 12, 6, 0, 0, 0, kolkata), true,
		},
	} {
		t.Run(row.sentence, func(t *testing.T) {
			by, hour := incubation.TSP{LastChange: row.last}.DecideBy(now, row.zone)
			if !by.Equal(row.by) || hour != row.hour {
				t.Errorf("by %v, with its hour: %v; want %v, %v", by, hour, row.by, row.hour)
			}
			end := by
			if !hour && !by.IsZero() {
				end = by.AddDate(0, 0, 1)
			}
			if end.After(row.last) {
				t.Errorf("%v is told, which ends after the last change, %v", by, row.last)
			}
		})
	}
}
