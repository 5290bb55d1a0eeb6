package i2c_test

import "testing"

func TestHDC302x(t *testing.T) {
	const (
		ready = "30 93\n30 A2\n20 32" // one result each two seconds
		good  = "E0 00 > 66 66 93 66 66 93"
		said  = "25.0000 0.4000"
	)
	for _, row := range []struct {
		about, script string
		want          []string
	}{
		{
			"a series is begun once and results are fetched",
			lines(ready, good, good),
			[]string{said, said},
		},
		{
			"an idle chip may refuse the end of a series",
			lines("30 93 ! absent", "30 A2", "20 32", good),
			[]string{said},
		},
		{
			"after a brown-out no series runs: the third fault begins it anew",
			lines(ready, good, "E0 00 ! absent", "E0 00 ! absent", "E0 00 ! absent", ready, good),
			[]string{said, "absent", "absent", "absent", said},
		},
		{"a damaged word", lines(ready, "E0 00 > 66 66 93 66 67 93"), []string{"checksum"}},
		{"zeros", lines(ready, "E0 00 > 00 00 00 00 00 00"), []string{"dead-bus"}},
		{"ones", lines(ready, "E0 00 > FF FF FF FF FF FF"), []string{"dead-bus"}},
		{
			"full humidity",
			lines(ready, "E0 00 > 66 66 93 FF FF AC"),
			[]string{"25.0000 1.0000 saturated"},
		},
		{"beyond the scale", lines(ready, "E0 00 > FF FF AC 66 66 93"), []string{"out-of-range"}},
		{"nobody there", lines("30 93 ! absent", "30 A2 ! absent"), []string{"absent"}},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, "hdc302x", 0x44, row.script, row.want...) })
	}
}
