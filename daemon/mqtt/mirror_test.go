package mqtt_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

func TestMirrorsTheRoom(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		if kept := h.retained(); len(kept) > 0 {
			t.Errorf("before the first tick there is nothing to tell, got\n%s", text(kept))
		}
		c.State(t.Context(), room())
		kept := h.retained()
		golden(t, "retained.golden", text(kept))
		for topic, payload := range kept {
			validate(t, strings.Split(topic, "/")[2], payload)
		}
	})
}

func TestMirrorsOnlyWhatChanged(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		if got := h.take(); len(got) != 9 {
			t.Fatalf("first snapshot: %d messages, want 9: status, three probes, two contacts, two alerts, clutch",
				len(got))
		}
		time.Sleep(10 * time.Second)
		c.State(t.Context(), room())
		if got := h.take(); len(got) > 0 {
			t.Errorf("the same snapshot again was told: %v", got)
		}
		warmer := room()
		warmer.Probes[0].Latest.Celsius++
		c.State(t.Context(), warmer)
		if got := h.take(); len(got) != 1 || !strings.Contains(got[0].payload, `"celsius":29.4`) {
			t.Errorf("one probe is warmer: got %v", got)
		}
	})
}

func TestEmptiesTopics(t *testing.T) {
	tests := []struct {
		sentence string
		change   func(*monitor.Snapshot)
		topic    string // the topic that must be gone; "": none
	}{
		{
			"an alert that was cleared and is then acknowledged",
			func(s *monitor.Snapshot) { s.Alerts[1].Acknowledged = noon },
			"alert/dry-air.place.box-1",
		},
		{
			"an alert that is no longer in the snapshot",
			func(s *monitor.Snapshot) { s.Alerts = s.Alerts[:1] }, "alert/dry-air.place.box-1",
		},
		{
			"a probe that is no longer known",
			func(s *monitor.Snapshot) { s.Probes = s.Probes[1:] }, "reading/i2c-1-44",
		},
		{
			"a clutch that is no longer in the book",
			func(s *monitor.Snapshot) { s.Clutches = nil }, "clutch/c7",
		},
		{
			"a clutch that ended a season ago",
			func(s *monitor.Snapshot) { s.Clutches[0].Ended = s.Time.AddDate(0, 0, -91) }, "clutch/c7",
		},
		{
			"not a clutch that ended last month",
			func(s *monitor.Snapshot) { s.Clutches[0].Ended = s.Time.AddDate(0, 0, -30) }, "",
		},
		{
			"not an alert that is acknowledged but still active",
			func(s *monitor.Snapshot) { s.Alerts[0].Acknowledged = noon }, "",
		},
		{
			"not an alert whose off-delay runs",
			func(s *monitor.Snapshot) { s.Alerts[0].Phase = alerts.InOffDelay }, "",
		},
		{
			"not an alert that is shelved",
			func(s *monitor.Snapshot) { s.Alerts[0].ShelvedUntil = noon.Add(time.Hour) }, "",
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHub(t)
				c, _ := h.connect(mqtt.Options{})
				c.State(t.Context(), room())
				before := h.retained()
				after := room()
				tt.change(after)
				c.State(t.Context(), after)
				want := len(before)
				if tt.topic != "" {
					want--
				}
				kept := h.retained()
				if len(kept) != want || tt.topic != "" && kept["clutchd/cellar/"+tt.topic] != "" {
					t.Errorf("kept:\n%s", text(kept))
				}
			})
		})
	}
}

func TestRepublishesAfterReconnect(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		c.State(t.Context(), room())
		before := h.retained()
		h.stop() // forgets all
		time.Sleep(10 * time.Minute)
		h.start()
		c.State(t.Context(), room())
		time.Sleep(2 * time.Minute)
		c.State(t.Context(), room())
		after := h.retained()
		status := "clutchd/cellar/status"
		if before[status] == "" || after[status] == "" {
			t.Fatal("no status")
		}
		delete(before, status) // its times differ
		delete(after, status)
		if diff := cmp.Diff(text(before), text(after)); diff != "" {
			t.Errorf("retained before and after the broker's restart (-before +after):\n%s", diff)
		}
	})
}

func TestSweepsLeftovers(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		h.publish("clutchd/cellar/alert/too-warm.place.box-9", `{"state":"active"}`, true)
		h.publish("clutchd/cellar/reading/old-probe", `{}`, true)
		h.publish("clutchd/attic/alert/too-warm.place.box-9", `{"state":"active"}`, true)
		c, _ := h.connect(mqtt.Options{})
		if kept := h.retained(); len(kept) != 3 {
			t.Errorf("before the first tick nothing may be judged old, kept:\n%s", text(kept))
		}
		c.State(t.Context(), room())
		kept := h.retained()
		if len(kept) != 10 || kept["clutchd/attic/alert/too-warm.place.box-9"] == "" {
			t.Errorf("want this room's nine topics and the other room's one, kept:\n%s", text(kept))
		}
	})
}

// A snapshot that cannot be told in full, such as an id that is no topic
// level, must not keep the rest from being told.
func TestLeavesOutWhatCannotBeTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		odd := room()
		odd.Probes[0].ID = "a/+/#"
		c.State(t.Context(), odd)
		kept := h.retained()
		if len(kept) != 8 {
			t.Errorf("want all but the odd probe, kept:\n%s", text(kept))
		}
	})
}

// Before the clock is set a reading has no time, and one that says the same
// as the last is still news: the probe lives.
func TestMirrorsWithoutAClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		unset := func(after time.Duration) *monitor.Snapshot {
			s := room()
			s.Trusted = false
			s.Probes[0].Latest.Time = s.Probes[0].Latest.Time.Add(after)
			return s
		}
		c.State(t.Context(), unset(0))
		for _, m := range h.take() {
			if strings.Contains(m.topic, "/reading/") && strings.Contains(m.payload, `"time"`) {
				t.Errorf("%s tells a time that nobody knows: %s", m.topic, m.payload)
			}
		}
		c.State(t.Context(), unset(10*time.Second))
		if got := h.take(); len(got) != 1 || !strings.Contains(got[0].payload, `"celsius"`) {
			t.Errorf("a further reading with the same value: got %v, want it told", got)
		}
	})
}
