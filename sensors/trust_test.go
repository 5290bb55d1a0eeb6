package sensors_test

import (
	"math"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"

	"github.com/google/go-cmp/cmp"
)

const both = incubation.Temperature | incubation.RelativeHumidity

func TestTrust(t *testing.T) {
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	nan, inf := math.NaN(), math.Inf(1)
	nanRatio := incubation.Humidity(nan)
	wet := reading{Probe: "p", Has: both, Celsius: 28, Humidity: 1, Quality: incubation.Saturated}
	odd := reading{Probe: "p", Has: both, Celsius: 28, Humidity: 1, Quality: incubation.Suspect}
	tests := []struct {
		why   string
		in    reading
		want  reading
		cause sensors.Cause
	}{
		{
			why:  "an ordinary reading passes as it is",
			in:   reading{Probe: "p", Time: at, Has: both, Celsius: 28.5, Humidity: 0.82},
			want: reading{Probe: "p", Time: at, Has: both, Celsius: 28.5, Humidity: 0.82},
		},
		{
			why:  "a probe that is not named is filled in, what is not held becomes zero",
			in:   reading{Has: incubation.Temperature, Celsius: 28.5, Humidity: nanRatio},
			want: reading{Probe: "p", Has: incubation.Temperature, Celsius: 28.5},
		},
		{
			why:  "humidity of exactly one is condensation",
			in:   reading{Probe: "p", Has: both, Celsius: 28, Humidity: 1},
			want: wet,
		},
		{
			why:  "a chip that overshoots in condensation is clamped",
			in:   reading{Probe: "p", Has: both, Celsius: 28, Humidity: 1.06},
			want: wet,
		},
		{
			why:  "a suspect reading stays suspect in condensation",
			in:   odd,
			want: odd,
		},
		{
			why:   "more than a little over one is a broken chip",
			in:    reading{Has: both, Celsius: 28, Humidity: 1.0601},
			cause: sensors.OutOfRange,
		},
		{
			why:   "humidity below zero does not exist",
			in:    reading{Has: both, Celsius: 28, Humidity: -0.001},
			cause: sensors.OutOfRange,
		},
		{
			why:  "the ends of the widest chip's range are still values",
			in:   reading{Probe: "p", Has: incubation.Temperature, Celsius: -55},
			want: reading{Probe: "p", Has: incubation.Temperature, Celsius: -55},
		},
		{
			why:   "colder than any supported chip can say",
			in:    reading{Has: incubation.Temperature, Celsius: -55.01},
			cause: sensors.OutOfRange,
		},
		{
			why:   "hotter than any supported chip can say",
			in:    reading{Has: incubation.Temperature, Celsius: 125.01},
			cause: sensors.OutOfRange,
		},
		{
			why:   "an infinite temperature is out of range",
			in:    reading{Has: incubation.Temperature, Celsius: incubation.Celsius(inf)},
			cause: sensors.OutOfRange,
		},
		{
			why:   "a temperature that is not a number is no value",
			in:    reading{Has: both, Celsius: incubation.Celsius(nan), Humidity: 0.5},
			cause: sensors.Unparsable,
		},
		{
			why:   "a humidity that is not a number is no value",
			in:    reading{Has: both, Celsius: 28, Humidity: nanRatio},
			cause: sensors.Unparsable,
		},
		{
			why:   "a reading without a quantity says nothing",
			in:    reading{Celsius: 28, Humidity: 0.5},
			cause: sensors.Unparsable,
		},
	}
	for _, test := range tests {
		got, err := sensors.Trust(sensors.Probe{ID: "p"}, test.in)
		if diff := cmp.Diff(test.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", test.why, diff)
		}
		switch {
		case test.cause == "" && err != nil:
			t.Errorf("%s: refused: %v", test.why, err)
		case test.cause != "" && (err == nil || sensors.CauseOf(err) != test.cause):
			t.Errorf("%s: error %v, want cause %s", test.why, err, test.cause)
		}
	}
}
