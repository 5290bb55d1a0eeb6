package i2c_test

import (
	"strings"
	"testing"
)

func TestAHT20(t *testing.T) {
	const (
		ready   = "BA\n71 > 1C"
		measure = "AC 33 00"
		// raw humidity 158119, temperature 410343: frame from the aht20 wiki of
		// elixir-sensors, values computed apart: 15.0794 %, 28.2667 °C.
		good = "> 1C 26 9A 76 42 E7 76"
		said = "28.2667 0.1508"
		busy = "> 9C 26 9A 76 42 E7 9A"
	)
	for _, row := range []struct {
		about, script string
		want          []string
	}{
		{"a published frame", lines(ready, measure, good), []string{said}},
		{"busy once, then done", lines(ready, measure, busy, good), []string{said}},
		{"busy for ever", lines(ready, measure, "* "+busy), []string{"not-ready"}},
		{
			"busy, and the sum of an unfinished frame does not match",
			lines(ready, measure, "> 9C 26 9A 76 42 E7 76"),
			[]string{"not-ready"},
		},
		{
			"a frame damaged in transit",
			lines(ready, measure, "> 1C 26 9A 77 42 E7 76"),
			[]string{"checksum"},
		},
		{
			"a chip that says it has no calibration is given it",
			lines("BA", "71 > 10", "BE 08 00", measure, good),
			[]string{said},
		},
		{
			"one that lost it while it ran is made ready anew after three reads",
			lines(ready, strings.Repeat(measure+"\n> 14 26 9A 76 42 E7 AC\n", 3), "BA", "71 > 10", "BE 08 00", measure, good),
			[]string{"not-ready", "not-ready", "not-ready", said},
		},
		{"zeros", lines(ready, measure, "> 00 00 00 00 00 00 00"), []string{"dead-bus"}},
		{
			"ones, which the status alone would pass",
			lines("BA", "71 > FF", measure, "> FF FF FF FF FF FF FF"),
			[]string{"dead-bus"},
		},
		{"nobody there", "BA ! absent", []string{"absent"}},
		{
			"gone when the measurement is fetched",
			lines(ready, measure, "> ! absent"),
			[]string{"absent"},
		},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, "aht20", 0x38, row.script, row.want...) })
	}
}
