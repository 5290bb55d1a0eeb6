package i2c_test

import "testing"

func TestMCP9808(t *testing.T) {
	const ready = "06 > 00 54\n07 > 04 00\n08 03\n01 00 00" // who are you; finest resolution; run
	for _, row := range []struct {
		about, script string
		want          []string
	}{
		// Microchip DS25095, section 5.1.3: 1/16 °C, sign in bit 12, flags above.
		{"25 °C", lines(ready, "05 > 01 90"), []string{"25.0000"}},
		{
			"flags of the alert limits are not part of it",
			lines(ready, "05 > C1 90"),
			[]string{"25.0000"},
		},
		{"one step", lines(ready, "05 > 01 91"), []string{"25.0625"}},
		{"below zero", lines(ready, "05 > 1F F0"), []string{"-1.0000"}},
		{
			"an error the driver hides keeps its cause, and is not −273 °C",
			lines(ready, "05 ! absent", "05 > 01 90"),
			[]string{"absent", "25.0000"},
		},
		{"zeros", lines(ready, "05 > 00 00"), []string{"dead-bus"}},
		{"ones", lines(ready, "05 > FF FF"), []string{"dead-bus"}},
		{"beyond the chip's range", lines(ready, "05 > 08 00"), []string{"out-of-range"}},
		{
			"another chip of that address",
			lines("06 > 00 54", "07 > 02 01"),
			[]string{"unsupported"},
		},
		{"a dead line", lines("06 > FF FF", "07 > FF FF"), []string{"dead-bus"}},
		{"nobody there", "06 ! absent", []string{"absent"}},
		{
			"three faults and it is made ready anew",
			lines(ready, "05 ! io", "05 ! io", "05 ! io", ready, "05 > 01 90"),
			[]string{"io", "io", "io", "25.0000"},
		},
		{
			"an error while it is made ready",
			lines("06 > 00 54", "07 > 04 00", "08 03 ! timeout"),
			[]string{"timeout"},
		},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, "mcp9808", 0x18, row.script, row.want...) })
	}
}
