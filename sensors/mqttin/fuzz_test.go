package mqttin_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors/mqttin"
)

// FuzzDecode: a reading that is accepted is finite, and says the same when it
// is written down as the device would and decoded again; what is refused gives
// the zero reading.
func FuzzDecode(f *testing.F) {
	for _, s := range []string{
		"28.4", `{"t":28.4,"h":50,"at":1777896000}`, `{"t":"28.4","h":"0.5"}`, `[28.4]`,
		`{"t":null}`, `"NaN"`, "1e999", `{"t":-40,"h":106}`, "{", `{"a/b":{"":[80]}}`,
	} {
		f.Add([]byte(s), "/t", "/h", "/at", false, false)
		f.Add([]byte(s), "", "", "", true, true)
		f.Add([]byte(s), "/a~1b//0", "", "", false, true)
	}
	f.Fuzz(func(t *testing.T, payload []byte, pt, ph, pa string, fahrenheit, ratio bool) {
		d := mqttin.Device{ProbeID: "p", Pointer: pt, HumidityPointer: ph, TimePointer: pa}
		if fahrenheit {
			d.Unit = mqttin.Fahrenheit
		}
		if ratio {
			d.HumidityUnit = mqttin.Ratio
		}
		r, err := d.Decode(payload)
		if err != nil {
			if diff := cmp.Diff(incubation.Reading{}, r); diff != "" {
				t.Fatalf("refused with a reading:\n%s", diff)
			}
			return
		}
		c, h := float64(r.Celsius), float64(r.Humidity)
		if math.IsNaN(c+h) || c < -40 || c > 80 || h < 0 || h > 1 {
			t.Fatalf("accepted %q as %+v", payload, r)
		}
		again := spoken(t, r)
		if !again.Time.Truncate(time.Microsecond).Equal(r.Time.Truncate(time.Microsecond)) {
			t.Fatalf("time %s came back as %s", r.Time, again.Time)
		}
		again.Time, r.Time = time.Time{}, time.Time{}
		if r.Quality == incubation.Suspect {
			r.Quality = incubation.Good // its cause is not part of what is written
		}
		if diff := cmp.Diff(r, again); diff != "" {
			t.Fatalf("written and decoded again (-was +is):\n%s", diff)
		}
	})
}

// spoken writes the reading as a device in our own units would, and decodes it.
func spoken(t *testing.T, r incubation.Reading) incubation.Reading {
	t.Helper()
	says := map[string]any{"c": r.Celsius}
	d := mqttin.Device{
		ProbeID: r.Probe, Pointer: "/c", HumidityPointer: "/h", HumidityUnit: mqttin.Ratio, Has: r.Has,
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		says["h"] = r.Humidity
	}
	if !r.Time.IsZero() {
		says["at"], d.TimePointer = r.Time, "/at"
	}
	payload, err := json.Marshal(says)
	if err != nil {
		t.Fatal(err)
	}
	again, err := d.Decode(payload)
	if err != nil {
		t.Fatalf("decode %s, as written from %+v: %v", payload, r, err)
	}
	return again
}
