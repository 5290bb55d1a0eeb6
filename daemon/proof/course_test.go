package proof_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
)

const (
	// courseWatch is how long the short form waits for a fault.
	courseWatch = 100 * time.Minute
	// recovery is how long a house is well again between two faults: alerts
	// have ended by then, and nothing new may begin.
	recovery = 4 * time.Hour
)

// TestCourse lives the quick faults one after the other in one house, with
// hours between in which it must fall silent again. Ticks are half a minute
// apart.
func TestCourse(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of processor time")
	}
	t.Parallel()
	var verdicts []verdict
	synctest.Test(t, func(t *testing.T) {
		h := healthy(t, 30*time.Second, true)
		for _, f := range faults() {
			if !f.quick {
				continue
			}
			f.watch = min(f.watch, courseWatch)
			verdicts = append(verdicts, h.suffer(f))
			h.recover(t, f.name)
		}
	})
	for _, v := range verdicts {
		t.Run(v.name, v.check)
	}
	t.Log("\n" + table(verdicts))
}

// recover acknowledges whatever stands, lets the house come to rest and wants
// it to be quiet.
func (h *house) recover(t *testing.T, after string) {
	t.Helper()
	h.live(2 * time.Hour)
	h.acknowledge()
	from := h.post.count()
	h.live(recovery - 2*time.Hour)
	for _, n := range h.post.since(from) {
		if announces(n) {
			t.Errorf("hours after %q: %s", after, line(n))
		}
	}
	for _, a := range h.monitor.Snapshot().Alerts {
		if a.Told() && a.Rule != "tsp-open" && a.Rule != "hatch-near" {
			t.Errorf("hours after %q there stands %s", after, a.Text)
		}
	}
}

// acknowledge sees every alert.
func (h *house) acknowledge() {
	for _, a := range h.monitor.Snapshot().Alerts {
		_, _ = h.monitor.Do(context.Background(), monitor.Change{
			Acknowledge: &monitor.Acknowledge{Alert: a.Alert, Occurrence: a.Occurrence, By: "keeper"},
		})
	}
}
