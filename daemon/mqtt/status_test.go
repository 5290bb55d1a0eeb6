package mqtt_test

import (
	"encoding/json"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/mqtt"
)

const statusTopic = "clutchd/cellar/status"

// statuses gives the statuses heard since the last call, each valid.
func (h *hub) statuses() []mqtt.Status {
	h.t.Helper()
	var all []mqtt.Status
	for _, m := range h.take() {
		if m.topic != statusTopic {
			continue
		}
		validate(h.t, "status", m.payload)
		var s mqtt.Status
		if err := json.Unmarshal([]byte(m.payload), &s); err != nil {
			h.t.Fatal(err)
		}
		all = append(all, s)
	}
	return all
}

func online(since, next time.Time) mqtt.Status {
	return mqtt.Status{Status: mqtt.Online, Since: &since, Next: &next}
}

func TestHeartbeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		began := time.Now().UTC()
		c, _ := h.connect(mqtt.Options{})
		for range 18 { // three minutes of ticks, half a second off the minute
			c.State(t.Context(), room())
			time.Sleep(10 * time.Second)
		}
		after := func(d time.Duration) time.Time { return began.Add(d) }
		want := []mqtt.Status{
			online(began, after(time.Minute)),
			online(began, after(2*time.Minute)),
			online(began, after(3*time.Minute)),
			online(began, after(4*time.Minute)),
		}
		if diff := cmp.Diff(want, h.statuses()); diff != "" {
			t.Errorf("statuses (-want +got):\n%s", diff)
		}
	})
}

func TestHeartbeatStopsWithTheTicks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		time.Sleep(time.Hour)
		if got := h.statuses(); len(got) != 1 {
			t.Errorf("one tick and then none for an hour: %d statuses, want 1", len(got))
		}
		c.State(t.Context(), room())
		if got := h.statuses(); len(got) != 1 || got[0].Status != mqtt.Online {
			t.Errorf("a tick again: got %v, want one online at once", got)
		}
	})
}

func TestStatusWithoutTrustedClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, stop := h.connect(mqtt.Options{})
		early := room()
		early.Trusted = false
		c.State(t.Context(), early)
		synctest.Wait()
		stop()
		want := []mqtt.Status{{Status: mqtt.Online}, {Status: mqtt.Offline}}
		if diff := cmp.Diff(want, h.statuses()); diff != "" {
			t.Errorf("no clock, no times (-want +got):\n%s", diff)
		}
	})
}

func TestFarewell(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, stop := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		h.take()
		time.Sleep(5 * time.Second)
		now := time.Now().UTC()
		stop()
		want := []mqtt.Status{{Status: mqtt.Offline, Since: &now}}
		if diff := cmp.Diff(want, h.statuses()); diff != "" {
			t.Errorf("a clean stop says since when (-want +got):\n%s", diff)
		}
	})
}

func TestLastWill(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		h.take()
		h.cut()
		if got := h.statuses(); len(got) != 1 || got[0].Status != mqtt.Offline {
			t.Errorf("the connection was cut: got %v, want offline", got)
		}
		if kept := h.retained()[statusTopic]; kept != `{"status":"offline"}` {
			t.Errorf("kept %s, want offline", kept)
		}
		c.State(t.Context(), room())
		time.Sleep(5 * time.Second)
		got := h.statuses()
		if !slices.ContainsFunc(got, func(s mqtt.Status) bool { return s.Status == mqtt.Online }) {
			t.Errorf("after a reconnect: got %v, want online", got)
		}
	})
}

// A broker that stands still without closing anything is noticed by the
// keep-alive, and left.
func TestLeavesASilentBroker(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		h.lose(func(byte) bool { return true })
		time.Sleep(2 * time.Minute)
		h.lose(nil)
		h.take()
		time.Sleep(2 * time.Minute)
		c.State(t.Context(), room())
		if got := h.statuses(); len(got) == 0 || got[len(got)-1].Status != mqtt.Online {
			t.Errorf("got %v, want online again over a new connection", got)
		}
	})
}

// The broker may notice only late that an earlier connection is dead, and send
// its last will over our online.
func TestPutsALateLastWillRight(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		h.take()
		h.publish(statusTopic, `{"status":"offline"}`, true)
		got := h.statuses()
		if len(got) != 2 || got[1].Status != mqtt.Online {
			t.Errorf("heard %v, want the offline and at once an online", got)
		}
	})
}
