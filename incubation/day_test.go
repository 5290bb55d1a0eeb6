package incubation_test

import (
	"testing"
	"time"
	_ "time/tzdata" // zones, on a machine without a database

	"clutchd/incubation"
)

func TestDayStart(t *testing.T) {
	for _, row := range []struct{ why, zone, at, want string }{
		{"a usual day begins at midnight", "Europe/Berlin", "2026-06-14 12:32", "2026-06-14 00:00"},
		{"one whose clocks go forward at midnight begins at one", "America/Santiago", "2026-09-06 12:00", "2026-09-06 01:00"},
		{"its first minute is on it", "America/Santiago", "2026-09-06 01:00", "2026-09-06 01:00"},
	} {
		zone, err := time.LoadLocation(row.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.ParseInLocation("2006-01-02 15:04", row.at, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := incubation.DayStart(at).Format("2006-01-02 15:04"); got != row.want {
			t.Errorf("%s: %s, want %s", row.why, got, row.want)
		}
	}
}
