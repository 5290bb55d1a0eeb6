package i2c_test

import "testing"

func TestLM75(t *testing.T) {
	for _, row := range []struct {
		about, model, script string
		want                 []string
	}{
		// TI SBOS288 (TMP75) table 7-1 and SLLS648 (TMP105) table 5, upper 12 bits.
		{"100 °C", "tmp75", "01 > 60\n00 > 64 00", []string{"100.0000"}},
		{"75 °C", "tmp75", "01 > 60\n00 > 4B 00", []string{"75.0000"}},
		{"25 °C", "tmp105", "01 > 60\n00 > 19 00", []string{"25.0000"}},
		{"0.25 °C", "tmp105", "01 > 60\n00 > 00 40", []string{"0.2500"}},
		{"−0.25 °C", "tmp105", "01 > 60\n00 > FF C0", []string{"-0.2500"}},
		{"−25 °C", "tmp105", "01 > 60\n00 > E7 00", []string{"-25.0000"}},
		{"−55 °C", "tmp75", "01 > 60\n00 > C9 00", []string{"-55.0000"}},
		{
			"127.9375 °C is more than the chip can measure",
			"tmp75", "01 > 60\n00 > 7F F0",
			[]string{"out-of-range"},
		},
		// ST STLM75 (Doc 13296) table 3, upper 9 bits: FA, 32, 1, 1FF, 1CE, 192.
		{"+125 °C in nine bits", "lm75", "01 > 00\n00 > 7D 00", []string{"125.0000"}},
		{"+25 °C in nine bits", "lm75", "01 > 00\n00 > 19 00", []string{"25.0000"}},
		{"+0.5 °C in nine bits", "lm75", "01 > 00\n00 > 00 80", []string{"0.5000"}},
		{"−0.5 °C in nine bits", "lm75", "01 > 00\n00 > FF 80", []string{"-0.5000"}},
		{"−25 °C in nine bits", "lm75", "01 > 00\n00 > E7 00", []string{"-25.0000"}},
		{"−55 °C in nine bits", "lm75", "01 > 00\n00 > C9 00", []string{"-55.0000"}},
		{
			"what an lm75 has below half a degree is undefined",
			"lm75", "01 > 00\n00 > 19 7F",
			[]string{"25.0000"},
		},
		{
			"an lm75b has eleven bits: 25.125 °C",
			"lm75b", "01 > 00\n00 > 19 3F",
			[]string{"25.1250"},
		},
		// Settings.
		{
			"a tmp105 starts with nine bits and is set to twelve",
			"tmp105", "01 > 00\n01 60\n00 > 1F 80",
			[]string{"31.5000"},
		},
		{
			"and again after a brown-out",
			"tmp105", "01 > 60\n00 > 1F 90\n01 > 00\n01 60\n00 > 1F 90",
			[]string{"31.5625", "31.5625"},
		},
		{
			"a chip left shut down is woken",
			"lm75", "01 > 01\n01 00\n00 > 1F 80",
			[]string{"31.5000"},
		},
		{
			"its other settings are nobody's business",
			"lm75", "01 > 06\n00 > 1F 80",
			[]string{"31.5000"},
		},
		// Faults.
		{"zeros", "tmp105", "01 > 60\n00 > 00 00", []string{"dead-bus"}},
		{"ones", "tmp105", "01 > 60\n00 > FF FF", []string{"dead-bus"}},
		{"nobody there", "tmp105", "01 ! absent", []string{"absent"}},
		{"gone between the two", "tmp105", "01 > 60\n00 ! gone", []string{"absent"}},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, row.model, 0x48, row.script, row.want...) })
	}
}
