package logger_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors/logger"
)

// A file with a column "quality", as an export of the history has it, keeps
// what was suspect so, and may hold readings of humidity alone.
func TestReadQuality(t *testing.T) {
	const text = "time,celsius,humidity_ratio,quality\n" +
		"2026-03-01T00:00:00Z,28,0.8,good\n" +
		"2026-03-01T00:10:00Z,28.5,,suspect\n" +
		"2026-03-01T00:20:00Z,,0.85,good\n" +
		"2026-03-01T00:30:00Z,,1,saturated\n" +
		"2026-03-01T00:40:00Z,,,good\n" +
		"2026-03-01T00:50:00Z,,7,good\n"
	log, err := logger.Read(strings.NewReader(text), logger.Options{Probe: "p"})
	if err != nil {
		t.Fatal(err)
	}
	at := func(minute int) time.Time { return time.Date(2026, 3, 1, 0, minute, 0, 0, time.UTC) }
	const both = incubation.Temperature | incubation.RelativeHumidity
	want := []incubation.Reading{
		{Probe: "p", Time: at(0), Has: both, Celsius: 28, Humidity: 0.8},
		{
			Probe: "p", Time: at(10), Has: incubation.Temperature, Celsius: 28.5,
			Quality: incubation.Suspect,
		},
		{Probe: "p", Time: at(20), Has: incubation.RelativeHumidity, Humidity: 0.85},
		{
			Probe: "p", Time: at(30), Has: incubation.RelativeHumidity, Humidity: 1,
			Quality: incubation.Saturated,
		},
	}
	if diff := cmp.Diff(want, log.Readings); diff != "" {
		t.Errorf("readings (-want +got):\n%s", diff)
	}
	if log.Refused != 2 {
		t.Errorf("%d lines refused, want the last two: nothing, and a humidity of 7", log.Refused)
	}
}
