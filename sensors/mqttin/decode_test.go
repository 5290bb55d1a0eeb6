package mqttin_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

const both = incubation.Temperature | incubation.RelativeHumidity

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

func TestDecode(t *testing.T) {
	bare := mqttin.Device{ProbeID: "shelf"}
	climate := mqttin.Device{ProbeID: "shelf", Pointer: "/t", HumidityPointer: "/h"}
	timed := mqttin.Device{ProbeID: "shelf", Pointer: "/t", TimePointer: "/at"}
	damp := mqttin.Device{ProbeID: "shelf", Has: incubation.RelativeHumidity}
	tests := []struct {
		sentence string
		device   mqttin.Device
		payload  string
		want     incubation.Reading // Probe is filled in
		cause    sensors.Cause      // of the fault; "": none
	}{
		{
			sentence: "a bare number is the temperature",
			device:   bare, payload: "28.4",
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "spaces and a newline around a bare number do not matter",
			device:   bare, payload: " 28.4\n",
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "a bare number may carry a plus sign, which is not JSON",
			device:   bare, payload: "+28.4",
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "a quoted number is a number",
			device:   bare, payload: `"28.4"`,
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "below zero is believable",
			device:   bare, payload: "-3",
			want: incubation.Reading{Has: incubation.Temperature, Celsius: -3},
		},
		{
			sentence: "50 °F is 10 °C",
			device:   mqttin.Device{ProbeID: "shelf", Unit: mqttin.Fahrenheit}, payload: "50",
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 10},
		},
		{
			sentence: "an object holds both, humidity in percent unless told otherwise",
			device:   climate, payload: `{"t":28.4,"h":50,"battery":90}`,
			want: incubation.Reading{Has: both, Celsius: 28.4, Humidity: 0.5},
		},
		{
			sentence: "humidity may come as a ratio",
			device: mqttin.Device{
				ProbeID: "shelf", Pointer: "/t", HumidityPointer: "/h", HumidityUnit: mqttin.Ratio,
			},
			payload: `{"t":28.4,"h":0.5}`,
			want:    incubation.Reading{Has: both, Celsius: 28.4, Humidity: 0.5},
		},
		{
			sentence: "humidity a little over 100 % is condensation: saturated, at 1",
			device:   climate, payload: `{"t":28.4,"h":104}`,
			want: incubation.Reading{
				Has: both, Celsius: 28.4, Humidity: 1, Quality: incubation.Saturated,
			},
		},
		{
			sentence: "a missing humidity leaves the temperature good",
			device:   climate, payload: `{"t":28.4}`,
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "a null humidity is a missing one",
			device:   climate, payload: `{"t":28.4,"h":null}`,
			want: incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "an impossible humidity makes the temperature suspect",
			device:   climate, payload: `{"t":28.4,"h":5000}`,
			want: incubation.Reading{
				Has: incubation.Temperature, Celsius: 28.4, Quality: incubation.Suspect,
			},
		},
		{
			sentence: "a device of humidity alone takes a bare number as humidity",
			device:   damp, payload: "75",
			want: incubation.Reading{Has: incubation.RelativeHumidity, Humidity: 0.75},
		},
		{
			sentence: "a device of humidity alone has nothing else to live by",
			device:   damp, payload: "5000", cause: sensors.OutOfRange,
		},
		{
			sentence: "pointers go into nested objects and arrays, with ~1 for /",
			device:   mqttin.Device{ProbeID: "shelf", Pointer: "/a~1b/1/t"},
			payload:  `{"a/b":[0,{"t":28.4}]}`,
			want:     incubation.Reading{Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "the payload's own time is taken from text",
			device:   timed, payload: `{"t":28.4,"at":"2026-05-04T14:00:00+02:00"}`,
			want: incubation.Reading{Time: noon, Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "the payload's own time is taken from seconds",
			device:   timed, payload: `{"t":28.4,"at":1777896000}`,
			want: incubation.Reading{Time: noon, Has: incubation.Temperature, Celsius: 28.4},
		},
		{
			sentence: "a promised time that is missing is a fault", device: timed,
			payload: `{"t":28.4}`, cause: sensors.Unparsable,
		},
		{
			sentence: "milliseconds since 1970 are refused, not read as a far year", device: timed,
			payload: `{"t":28.4,"at":1777896000000}`, cause: sensors.Unparsable,
		},
		{
			sentence: "a year before computers is refused", device: timed,
			payload: `{"t":28.4,"at":"0001-01-01T00:00:00Z"}`, cause: sensors.Unparsable,
		},
		{sentence: "an empty payload is a fault", device: bare, payload: "", cause: sensors.Unparsable},
		{sentence: "null is a fault", device: bare, payload: "null", cause: sensors.Unparsable},
		{sentence: "NaN is a fault", device: bare, payload: "NaN", cause: sensors.Unparsable},
		{sentence: "a quoted NaN is a fault", device: bare, payload: `"nan"`, cause: sensors.Unparsable},
		{sentence: "infinity is a fault", device: bare, payload: "Infinity", cause: sensors.Unparsable},
		{
			sentence: "a hexadecimal number is a fault", device: bare, payload: `"0x1p4"`,
			cause: sensors.Unparsable,
		},
		{
			sentence: "a decimal comma is a fault, not 28", device: bare, payload: `"28,4"`,
			cause: sensors.Unparsable,
		},
		{
			sentence: "a number with its unit is a fault", device: bare, payload: "28.4 C",
			cause: sensors.Unparsable,
		},
		{sentence: "a truth value is a fault", device: bare, payload: "true", cause: sensors.Unparsable},
		{
			sentence: "two values in one payload are a fault", device: bare, payload: "28.4 29",
			cause: sensors.Unparsable,
		},
		{
			sentence: "cut JSON is a fault", device: climate, payload: `{"t":28.4`,
			cause: sensors.Unparsable,
		},
		{
			sentence: "an absent temperature is a fault", device: climate, payload: `{"h":50}`,
			cause: sensors.Unparsable,
		},
		{
			sentence: "a null temperature is a fault", device: climate,
			payload: `{"t":null,"h":50}`, cause: sensors.Unparsable,
		},
		{
			sentence: "an object where a number should be is a fault", device: climate,
			payload: `{"t":{}}`, cause: sensors.Unparsable,
		},
		{
			sentence: "a payload of more than 64 KiB is a fault", device: bare,
			payload: strings.Repeat(" ", 64<<10) + "28.4", cause: sensors.Unparsable,
		},
		{
			sentence: "a number beyond floating point is out of range", device: bare,
			payload: "1e999", cause: sensors.OutOfRange,
		},
		{
			sentence: "85 is the power-on value of a common chip", device: bare, payload: "85",
			cause: sensors.OutOfRange,
		},
		{
			sentence: "-127 is what a common library sends for a missing chip", device: bare,
			payload: "-127", cause: sensors.OutOfRange,
		},
		{
			sentence: "°C taken for °F by mistake stays believable only if it is",
			device:   mqttin.Device{ProbeID: "shelf", Unit: mqttin.Fahrenheit}, payload: "200",
			cause: sensors.OutOfRange,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			got, err := tt.device.Decode([]byte(tt.payload))
			if tt.cause != "" {
				wantFault(t, err, tt.cause)
				if diff := cmp.Diff(incubation.Reading{}, got); diff != "" {
					t.Errorf("a refused payload gave a reading (-want +got):\n%s", diff)
				}
				return
			}
			if err != nil {
				t.Fatalf("decode %q: %v", tt.payload, err)
			}
			tt.want.Probe = "shelf"
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("reading (-want +got):\n%s", diff)
			}
		})
	}
}

func wantFault(t *testing.T, err error, cause sensors.Cause) {
	t.Helper()
	fault, ok := errors.AsType[*sensors.Fault](err)
	if !ok {
		t.Fatalf("got error %v, want a fault of cause %s", err, cause)
	}
	if fault.Cause != cause || fault.Probe != "shelf" || fault.Err == nil {
		t.Errorf("got fault %v, want probe shelf, cause %s and what happened", fault, cause)
	}
}

func TestReceive(t *testing.T) {
	plain := mqttin.Device{ProbeID: "shelf", Pointer: "/t"}
	timed := mqttin.Device{ProbeID: "shelf", Pointer: "/t", TimePointer: "/at"}
	const early = `{"t":28.4,"at":"2026-05-04T11:50:00Z"}`
	const late = `{"t":28.4,"at":"2026-05-04T12:10:00Z"}`
	tests := []struct {
		sentence string
		device   mqttin.Device
		payload  string
		retained bool
		silent   bool      // nothing is told
		want     time.Time // of the reading
		cause    sensors.Cause
	}{
		{
			sentence: "a live message is stamped with its arrival", device: plain, payload: early,
			want: noon,
		},
		{
			sentence: "a retained message without its own time is old: nothing", device: plain,
			payload: early, retained: true, silent: true,
		},
		{
			sentence: "a live message's own time is taken", device: timed, payload: early,
			want: noon.Add(-10 * time.Minute),
		},
		{
			sentence: "a retained message's own time is taken", device: timed, payload: early,
			retained: true, want: noon.Add(-10 * time.Minute),
		},
		{
			sentence: "a live message from the future was measured on arrival at the latest",
			device:   timed, payload: late, want: noon,
		},
		{
			sentence: "a retained message from the future cannot be placed: nothing", device: timed,
			payload: late, retained: true, silent: true,
		},
		{
			sentence: "a live message that says nothing is a fault", device: plain, payload: "x",
			cause: sensors.Unparsable,
		},
		{
			sentence: "a retained message that says nothing is nothing", device: timed,
			payload: "x", retained: true, silent: true,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			got, told := tt.device.Receive([]byte(tt.payload), tt.retained, noon)
			if told == tt.silent {
				t.Fatalf("told %v, want %v", told, !tt.silent)
			}
			if tt.silent {
				return
			}
			if tt.cause != "" {
				wantFault(t, got.Fault, tt.cause)
				return
			}
			want := sensors.Outcome{Probe: "shelf", Time: tt.want, Reading: incubation.Reading{
				Probe: "shelf", Time: tt.want, Has: incubation.Temperature, Celsius: 28.4,
			}}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("outcome (-want +got):\n%s", diff)
			}
		})
	}
}
