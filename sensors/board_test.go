package sensors_test

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
)

func TestBoard(t *testing.T) {
	var log bytes.Buffer
	b := sensors.NewBoard(slog.New(slog.NewTextHandler(&log, nil)))
	b.Announce(sensors.Contact{ID: "ups", Kind: incubation.Mains})
	b.Announce(sensors.Contact{ID: "door-1", Kind: incubation.Door, Interval: time.Minute})
	t0 := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	after := func(s int) time.Time { return t0.Add(time.Duration(s) * time.Second) }
	fault := &sensors.Fault{Probe: "ups", Cause: sensors.Absent}
	b.Push(sensors.ContactOutcome{Contact: "ups", Time: after(2), On: true, Detail: "battery 64 %", Fault: fault})
	b.Push(sensors.ContactOutcome{Contact: "ups", Time: after(1), On: true, Detail: "battery 65 %"})
	b.Push(sensors.ContactOutcome{Contact: "ups", Time: after(3), Fault: fault})
	b.Push(sensors.ContactOutcome{Contact: "stranger", Time: after(1), On: true})
	want := []sensors.ContactOutcome{
		{Contact: "ups", Time: after(1), On: true, Detail: "battery 65 %"},
		{Contact: "ups", Time: after(2), Fault: fault},
		{Contact: "ups", Time: after(3), Fault: fault},
	}
	if d := cmp.Diff(want, b.SampleContacts(t.Context(), t0)); d != "" {
		t.Errorf("in order, faults without a state, no stranger (-want +got):\n%s", d)
	}
	if got := b.SampleContacts(t.Context(), t0); len(got) != 0 {
		t.Errorf("told again: %v", got)
	}
	if n := strings.Count(log.String(), "gives no state"); n != 2 {
		t.Errorf("the fault came twice and was logged %d times:\n%s", n, &log)
	}
	for range 5000 {
		b.Push(sensors.ContactOutcome{Contact: "door-1", Time: after(4), On: false})
	}
	b.Push(sensors.ContactOutcome{Contact: "door-1", Time: after(5), On: true})
	got := b.SampleContacts(t.Context(), t0)
	if last := got[len(got)-1]; !last.On || len(got) > 4096 {
		t.Errorf("of %d the newest is %+v", len(got), last)
	}
	ids := []string{}
	for _, c := range b.Contacts() {
		ids = append(ids, c.ID+" "+c.Interval.String())
	}
	if d := cmp.Diff([]string{"door-1 1m0s", "ups 10s"}, ids); d != "" {
		t.Errorf("contacts (-want +got):\n%s", d)
	}
}
