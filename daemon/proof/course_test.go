package proof_test

import (
	"context"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"

	"clutchd/alerts"
)

const (
	// courseWatch is how long the short form waits for a fault.
	courseWatch = time.Hour
	// recovery is how long a house is well again between two faults: alerts
	// have ended by then, and nothing new may begin.
	recovery = 5 * time.Hour
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
	var restless []string
	synctest.Test(t, func(t *testing.T) {
		h := healthy(t, 30*time.Second, true)
		for _, f := range faults() {
			if !f.quick {
				continue
			}
			f.watch = min(f.watch, courseWatch)
			verdicts = append(verdicts, h.suffer(f))
			restless = append(restless, h.recover(f.name)...)
		}
	})
	for _, r := range restless {
		t.Error(r)
	}
	for _, v := range verdicts {
		t.Run(v.name, v.check)
	}
	t.Log("\n" + table(verdicts))
}

// recover lets the house come to rest, sees whatever stands, and gives what is
// told or stands though all has been well for hours.
func (h *house) recover(after string) (restless []string) {
	h.Helper()
	h.live(recovery / 2)
	h.acknowledge()
	from := h.post.count()
	h.live(recovery / 2)
	for _, n := range h.post.since(from) {
		if announces(n) {
			restless = append(restless, fmt.Sprintf("hours after %q: %s", after, line(n)))
		}
	}
	for _, a := range h.monitor.Snapshot().Alerts {
		if a.Chatters && a.Phase == alerts.InOffDelay {
			continue // told as one that comes and goes, until it has been quiet for a day
		}
		if a.Told() && a.Rule != "tsp-open" && a.Rule != "hatch-near" {
			restless = append(restless, fmt.Sprintf("hours after %q there stands: %s", after, a.Text))
		}
	}
	return restless
}

// acknowledge sees every alert.
func (h *house) acknowledge() {
	for _, a := range h.monitor.Snapshot().Alerts {
		_, _ = h.monitor.Do(context.Background(), monitor.Change{
			Acknowledge: &monitor.Acknowledge{Alert: a.Alert, Occurrence: a.Occurrence, By: "keeper"},
		})
	}
}
