package mqttin_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

func TestValidate(t *testing.T) {
	sound := mqttin.Device{
		ProbeID: "shelf", Topic: "room/shelf", Pointer: "/t", HumidityPointer: "/h",
		Interval: 5 * time.Minute,
	}
	tests := []struct {
		sentence string
		spoil    func(*mqttin.Device)
		want     string // in the error; "": none
	}{
		{"a sound device has nothing to mend", func(*mqttin.Device) {}, ""},
		{"a device needs a probe", func(d *mqttin.Device) { d.ProbeID = "" }, "no probe id"},
		{"a device needs a topic", func(d *mqttin.Device) { d.Topic = "" }, "topic"},
		{"a wildcard would mix devices up", func(d *mqttin.Device) { d.Topic = "room/+" }, "wildcards"},
		{
			"without an interval it could never be late", func(d *mqttin.Device) { d.Interval = 0 },
			"interval",
		},
		{"kelvin is not spoken here", func(d *mqttin.Device) { d.Unit = "K" }, "unit"},
		{
			"humidity is percent or ratio", func(d *mqttin.Device) { d.HumidityUnit = "permille" },
			"humidity unit",
		},
		{"a pointer begins with a slash", func(d *mqttin.Device) { d.Pointer = "t" }, "begin with /"},
		{"a lone tilde is no pointer", func(d *mqttin.Device) { d.TimePointer = "/a~2" }, "~0"},
		{"one value cannot be both", func(d *mqttin.Device) { d.HumidityPointer = "/t" }, "same value"},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			d := sound
			tt.spoil(&d)
			err := d.Validate()
			if tt.want == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want something about %q", err, tt.want)
			}
		})
	}
}

func TestProbe(t *testing.T) {
	d := mqttin.Device{
		ProbeID: "shelf", Topic: "room/shelf", HumidityPointer: "/h",
		Interval: 5 * time.Minute, Accuracy: 0.3,
	}
	want := sensors.Probe{
		ID: "shelf", Model: "mqtt", Source: "room/shelf",
		Has:      incubation.Temperature | incubation.RelativeHumidity,
		Interval: 5 * time.Minute, Accuracy: 0.3,
	}
	if diff := cmp.Diff(want, d.Probe()); diff != "" {
		t.Errorf("probe (-want +got):\n%s", diff)
	}
}
