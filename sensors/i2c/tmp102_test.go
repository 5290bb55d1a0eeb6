package i2c_test

import "testing"

func TestTMP102(t *testing.T) {
	const ready = "01 > 61 A0\n01 60 A0" // its settings, written back without shutdown
	for _, row := range []struct {
		about, script string
		want          []string
	}{
		// TI SBOS397, "temperature data format": 1/16 °C in the upper 12 bits.
		{"25 °C", lines(ready, "00 > 19 00"), []string{"25.0000"}},
		{"one step", lines(ready, "00 > 19 10"), []string{"25.0625"}},
		{"−0.25 °C", lines(ready, "00 > FF C0"), []string{"-0.2500"}},
		{"−25 °C", lines(ready, "00 > E7 00"), []string{"-25.0000"}},
		{"below the chip's range", lines(ready, "00 > C9 00"), []string{"out-of-range"}},
		{
			"settings that could not be read are not written back, as the driver would",
			"01 ! absent",
			[]string{"absent"},
		},
		{
			"and then it is made ready again",
			lines("01 ! io", ready, "00 > 19 00"),
			[]string{"io", "25.0000"},
		},
		{
			"the extended mode has another scale",
			lines(ready, "00 > 0C 81"),
			[]string{"unsupported"},
		},
		{
			"zeros, which are also what it says before its first conversion",
			lines(ready, "00 > 00 00"),
			[]string{"dead-bus"},
		},
		{"ones", lines(ready, "00 > FF FF"), []string{"dead-bus"}},
		{"gone", lines(ready, "00 ! absent"), []string{"absent"}},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, "tmp102", 0x48, row.script, row.want...) })
	}
}
