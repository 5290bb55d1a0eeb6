package metrics_test

import (
	"flag"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/metrics"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
)

var update = flag.Bool("update", false, "write the golden file anew")

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

func probe(id string, celsius incubation.Celsius) monitor.ProbeNow {
	has := incubation.Temperature | incubation.RelativeHumidity
	return monitor.ProbeNow{
		Probe: sensors.Probe{ID: id, Has: has}, Place: "box-3",
		Latest: incubation.Reading{Probe: id, Time: noon, Has: has, Celsius: celsius, Humidity: 0.85},
		Faults: map[sensors.Cause]uint64{sensors.Checksum: 3, sensors.Timeout: 1},
	}
}

func contact(id string, kind incubation.ContactKind, on bool, fault sensors.Cause) monitor.ContactNow {
	return monitor.ContactNow{
		Contact: sensors.Contact{ID: id, Kind: kind}, Place: "room", Known: true, On: on, Fault: fault,
	}
}

func alert(rule string, phase alerts.Phase) alerts.State {
	s := alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-3", Name: "Box 3"}
	return alerts.State{
		Alert: alerts.AlertID(rule, s), Rule: rule, Subject: s, Phase: phase, Severity: alerts.Critical,
	}
}

func room() *monitor.Snapshot {
	stale := probe("dead", 28)
	drifting := probe("i2c-1-44", 28.4)
	drifting.Latest.Quality = incubation.Drifting
	stale.Stale = true
	shelved := alert("dry-air", alerts.Active)
	shelved.ShelvedUntil = noon.Add(time.Hour)
	estimate := &incubation.Estimate{
		Development: incubation.Span{Fraction: 0.38}, Sex: incubation.Sex{MaleProbability: 0.04},
		Hatch: incubation.HatchSpan{Likely: noon.AddDate(0, 0, 33)},
	}
	return &monitor.Snapshot{
		Site: "cellar", Time: noon, Tick: 1, Took: 4 * time.Millisecond, Finished: noon, Trusted: true,
		Contacts: []monitor.ContactNow{
			contact("mains", incubation.Mains, true, ""), contact("door-1", incubation.Door, false, ""),
			contact("rack", incubation.Leak, true, sensors.Absent),
		},
		Probes: []monitor.ProbeNow{
			drifting, stale, {Probe: sensors.Probe{ID: "mute"}, Stale: true},
		},
		Alerts: []alerts.State{
			alert("too-warm", alerts.Active), alert("stale", alerts.InOffDelay),
			alert("heater-off", alerts.Cleared), shelved,
		},
		Clutches: []monitor.ClutchNow{{ID: "c7", Eggs: []monitor.EggNow{
			{ID: "7a", State: incubation.Incubating, Estimate: estimate},
			{ID: "7b", State: incubation.Hatched, Estimate: estimate},
			{ID: "7c", State: incubation.Incubating},
		}}},
		Outbox: map[string]int{"mqtt:hub": 2, "webhook:phone": 0},
	}
}

func scrape(t *testing.T, s *monitor.Snapshot) string {
	t.Helper()
	w := httptest.NewRecorder()
	handler := metrics.Handler(func() *monitor.Snapshot { return s })
	handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	text, err := io.ReadAll(w.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// ours drops what the runtime tells of itself, and the build.
func ours(text string) string {
	var kept strings.Builder
	for line := range strings.Lines(text) {
		if strings.Contains(line, "clutchd_") && !strings.Contains(line, "clutchd_build_info") {
			kept.WriteString(line)
		}
	}
	return kept.String()
}

func TestScrape(t *testing.T) {
	got := ours(scrape(t, room()))
	path := filepath.Join("testdata", "metrics.golden")
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

func TestAbsent(t *testing.T) {
	tests := []struct {
		sentence string
		spoil    func(*monitor.Snapshot)
		absent   string
	}{
		{
			"a stale probe's value", func(s *monitor.Snapshot) { s.Probes[0].Stale = true },
			`clutchd_probe_temperature_celsius{`,
		},
		{
			"a quantity that the newest reading lacks",
			func(s *monitor.Snapshot) { s.Probes[0].Latest.Has = incubation.Temperature },
			`clutchd_probe_humidity_ratio{`,
		},
		{
			"the doubt about a value that is not told",
			func(s *monitor.Snapshot) { s.Probes[0].Stale = true },
			`clutchd_probe_doubtful{`,
		},
		{
			"a doubt that is none", func(s *monitor.Snapshot) { s.Probes[0].Latest.Quality = incubation.Saturated },
			`clutchd_probe_doubtful{`,
		},
		{
			"the state of a contact that fails",
			func(s *monitor.Snapshot) { s.Contacts[1].Fault = sensors.Absent }, `contact="door-1"`,
		},
		{
			"the state of one that is silent", func(s *monitor.Snapshot) { s.Contacts[0].Stale = true },
			`contact="mains"`,
		},
		{
			"the end of a tick before there was one", func(s *monitor.Snapshot) { s.Finished = time.Time{} },
			`clutchd_last_tick_timestamp_seconds `,
		},
		{
			"a shelved alert",
			func(s *monitor.Snapshot) { s.Alerts[0].ShelvedUntil = noon.Add(time.Minute) },
			`rule="too-warm"`,
		},
		{
			"a hatch that is not in sight",
			func(s *monitor.Snapshot) { s.Clutches[0].Eggs[0].Hatch.Likely = time.Time{} },
			`clutchd_egg_hatch_likely_timestamp_seconds{`,
		},
		{
			"a number that is none",
			func(s *monitor.Snapshot) { s.Clutches[0].Eggs[0].Sex.MaleProbability = math.NaN() },
			`clutchd_egg_male_probability{`,
		},
		{
			"everything before the first tick", func(s *monitor.Snapshot) { s.Tick = 0 },
			`clutchd_tick_duration_seconds`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			if !strings.Contains(scrape(t, room()), tt.absent) {
				t.Fatalf("%s is absent anyway: the row proves nothing", tt.absent)
			}
			s := room()
			tt.spoil(s)
			if text := scrape(t, s); strings.Contains(text, tt.absent) {
				t.Errorf("%s is told:\n%s", tt.absent, ours(text))
			}
		})
	}
}

// One bad thing must not blind the whole scrape.
func TestSurvives(t *testing.T) {
	tests := []struct {
		sentence string
		spoil    func(*monitor.Snapshot)
	}{
		{
			"two probes of one name",
			func(s *monitor.Snapshot) { s.Probes = append(s.Probes, s.Probes[0]) },
		},
		{"a name that is not UTF-8", func(s *monitor.Snapshot) { s.Probes[1].ID = "\xff" }},
		{
			"no places, alerts or clutches",
			func(s *monitor.Snapshot) { s.Alerts, s.Clutches, s.Outbox = nil, nil, nil },
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			s := room()
			tt.spoil(s)
			const sound = `clutchd_probe_temperature_celsius{place="box-3",probe="i2c-1-44"} 28.4`
			if text := scrape(t, s); strings.Count(text, sound) != 1 {
				t.Errorf("the sound probe is not told once:\n%s", ours(text))
			}
		})
	}
}

func TestNoSnapshot(t *testing.T) {
	text := scrape(t, nil)
	for _, name := range []string{"clutchd_build_info{", "go_goroutines", "process_"} {
		if !strings.Contains(text, name) {
			t.Errorf("without a snapshot %s is still told, got:\n%s", name, text)
		}
	}
}

func TestPromtool(t *testing.T) {
	promtool := promtool(t)
	lint := func(text string) (string, error) {
		cmd := exec.Command(promtool, "check", "metrics")
		cmd.Stdin = strings.NewReader(text)
		out, err := cmd.CombinedOutput()
		return string(out), err
	}
	if out, err := lint(scrape(t, room())); err != nil || strings.TrimSpace(out) != "" {
		t.Errorf("promtool says: %v\n%s", err, out)
	}
	if _, err := lint("bad_metric_total_celsius_milli 1\n"); err == nil {
		t.Error("promtool finds nothing wrong with a bad metric: the check proves nothing")
	}
}
