package daemon_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"clutchd/daemon/demo"
	"clutchd/daemon/store"
	"clutchd/incubation/book"
)

// buildProgram builds the program as it is run here.
func buildProgram(t *testing.T) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "clutchd")
	if said, err := exec.Command("go", "build", "-o", out, "clutchd/daemon/clutchd").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, said)
	}
	return out
}

// TestKilledInAFever runs the built program in real time on what a thermometer
// publishes, kills it as soon as it has told of acute heat, and again while it
// is young, and looks for what it knew.
func TestKilledInAFever(t *testing.T) {
	if testing.Short() {
		t.Skip("minutes of real time")
	}
	t.Parallel()
	h := newHub(t)
	keeper := h.phone("clutchd/home/#")
	folder, addr := t.TempDir(), "127.0.0.1:"+freePort(t)
	conf := filepath.Join(folder, "clutchd.toml")
	text := fmt.Sprintf("state_folder = %q\nzone = \"UTC\"\nclock = \"system\"\n[web]\nlisten = %q\n[broker]\nlisten = \"\"\n"+
		"[kernel]\noff = true\n[[mqtt]]\nname = \"house\"\nurl = \"mqtt://127.0.0.1:%s\"\n[[device]]\nprobe = \"shelf\"\n"+
		"broker = \"house\"\ntopic = \"loft/shelf\"\npointer = \"/temperature\"\ninterval_seconds = 1\n", folder, addr, h.port)
	if err := os.WriteFile(conf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	clutchd := buildProgram(t)
	device := h.thermometer("loft/shelf")
	device.show(28)
	start := func() *victim {
		v := startVictim(t, exec.Command(clutchd, "run", "-config", conf), "running:")
		v.await(t)
		return v
	}
	v, pages := start(), newClient(addr)
	for i, e := range roomEntries("shelf", time.Now()) {
		if code := pages.post("/api/entries", fmt.Sprintf(`{"request":"r%d","kind":%q,"data":%s}`, i, e[0], e[1]), nil); code != 201 {
			t.Fatalf("%s: %d", e[1], code)
		}
	}
	device.show(39)
	n := keeper.noticeWithin(3*time.Minute, "acute-heat", "raised")
	killed := time.Now()
	v.end(syscall.SIGKILL)
	for _, young := range []time.Duration{0, 700 * time.Millisecond, 2 * time.Second} {
		v = start()
		time.Sleep(young)
		v.end(syscall.SIGKILL)
	}
	v = start()
	stands := pages.stands(t, "acute-heat")
	if stands.State != "active" || len(stands.Eggs) != 2 {
		t.Errorf("before the kills %+v stood, after them %+v", n, stands)
	}
	// A notice does not wait for the disk: killed before its alert was written
	// down, the daemon finds the fever anew and tells it again.
	keeper.await("the fever that stands", func(m told) bool {
		return strings.HasSuffix(m.topic, "/notice") && strings.Contains(m.payload, `"reason":"raised"`) &&
			strings.Contains(m.payload, fmt.Sprintf(`"occurrence":%q`, stands.Occurrence))
	})
	t.Logf("told as %s, stands as %s", n.Occurrence, stands.Occurrence)
	v.end(syscall.SIGTERM)
	last := newestBefore(t, folder, "shelf", killed)
	t.Logf("the kill cost %s of readings", killed.Sub(last).Round(time.Second))
	// A second is what times are cut to, and what a commit may take.
	if most := time.Minute + 10*time.Second + 2*time.Second; killed.Sub(last) > most {
		t.Errorf("the kill cost %s of readings, at most %s may be lost", killed.Sub(last), most)
	}
}

// newestBefore gives the newest stored reading of a probe before a time.
func newestBefore(t *testing.T, folder, probe string, before time.Time) (newest time.Time) {
	t.Helper()
	kept, err := store.Open(t.Context(), folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	for r, err := range kept.Range(t.Context(), probe, time.Time{}, before) {
		if err != nil {
			t.Fatal(err)
		}
		newest = r.Time
	}
	return newest
}

// TestDemoKilledInItsSeason kills the demo while it lives through its season,
// several times at random moments: the next start lives through what is left.
func TestDemoKilledInItsSeason(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of real time")
	}
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	dice := rand.New(rand.NewPCG(seed, 0))
	clutchd, folder := buildProgram(t), t.TempDir()
	began := time.Now().UTC()
	start := func() *victim {
		return startVictim(t, exec.Command(clutchd, "demo", "-calm", "-http", "127.0.0.1:0", "-mqtt", "127.0.0.1:0",
			"-data", folder), "http://")
	}
	early := 0
	for range 6 {
		v := start()
		select {
		case <-time.After(time.Duration(200+dice.IntN(1300)) * time.Millisecond):
			early++
		case <-v.ready:
		case <-v.over:
		}
		v.end(syscall.SIGKILL)
		if said := v.words(); strings.Contains(said, "clutchd:") {
			t.Fatalf("it did not start:\n%s", said)
		}
	}
	v := start()
	v.await(t)
	v.end(syscall.SIGTERM)
	t.Logf("killed in its season %d times", early)
	checkSeason(t, folder, began)
}

// checkSeason holds a folder against a season lived through at once.
func checkSeason(t *testing.T, folder string, began time.Time) {
	t.Helper()
	kept, err := store.Open(t.Context(), folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	if d := kept.Damage(); len(d) > 0 {
		t.Errorf("the store is damaged: %v", d)
	}
	entries, err := kept.Entries(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(folder, "story"))
	if err != nil {
		t.Fatal(err)
	}
	anchor, err := time.Parse(time.RFC3339, strings.TrimSpace(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	story, spec := demo.Story(anchor, time.Local.String())
	requests := map[string]int{}
	for _, e := range entries {
		requests[e.Request]++
	}
	for _, e := range story {
		if requests[e.Request] != 1 {
			t.Errorf("entry %s of the story is in the book %d times", e.Request, requests[e.Request])
		}
	}
	if problems := book.Fold(entries).Problems; len(problems) > 0 {
		t.Errorf("the book makes no sense: %v", problems)
	}
	for _, p := range spec.Probes {
		if widest := gap(t, kept, p.ID, story[0].At, began); p.Place == "room" && widest > 10*time.Minute {
			t.Errorf("probe %s has a gap of %s in the season", p.ID, widest)
		}
	}
}

// gap gives the longest stretch without a reading of a probe.
func gap(t *testing.T, kept *store.Store, probe string, from, to time.Time) (widest time.Duration) {
	t.Helper()
	last := from
	for r, err := range kept.Range(context.Background(), probe, from, to) {
		if err != nil {
			t.Fatal(err)
		}
		widest, last = max(widest, r.Time.Sub(last)), r.Time
	}
	return max(widest, to.Sub(last))
}
