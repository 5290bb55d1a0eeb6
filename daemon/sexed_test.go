package daemon_test

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"strings"
	"testing"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/sensors"
)

// An entry that a program posts about a hatched animal is on the page of its
// clutch, in the book and on the disk; one that makes no sense is refused.
func TestAPostedSexingShowsOnThePage(t *testing.T) {
	cfg := config.Default()
	cfg.StateDir, cfg.Zone, cfg.Kernel.Off = t.TempDir(), "UTC", true
	cfg.Web.Listen, cfg.Broker.Listen = "127.0.0.1:0", ""
	now := time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)
	ago := func(days int) string { return now.AddDate(0, 0, -days).Format(time.RFC3339) }

	live := func(do func(client)) {
		ctx, stop := context.WithCancel(t.Context())
		ready, done := make(chan daemon.Addresses, 1), make(chan error, 1)
		clock := roomClock{base: now}
		go func() {
			done <- daemon.Run(ctx, daemon.Settings{
				Config: cfg, Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Sampler: noProbes{},
				Tick: beatReal, Clock: func() monitor.Instant { return clock.now() },
				Ready: func(at daemon.Addresses) { ready <- at },
			})
		}()
		select {
		case at := <-ready:
			do(newClient(at.Web.String()))
			stop()
			if err := <-done; err != nil {
				t.Errorf("the daemon ended: %v", err)
			}
		case err := <-done:
			stop()
			t.Fatalf("the daemon did not start: %v", err)
		}
	}
	shows := func(c client, path string, says ...string) {
		t.Helper()
		code, page := c.text(path)
		for _, text := range says {
			if code != 200 || !strings.Contains(page, text) {
				t.Errorf("%s answers %d and lacks %q", path, code, text)
			}
		}
	}

	laying := fmt.Sprintf(`{"clutch":"c1","female":"f1","from":%q,"to":%q,"eggs":[{"egg":"c1-a","mark":"A"},{"egg":"c1-b","mark":"B"}]}`,
		ago(131), ago(130))
	live(func(c client) {
		for i, e := range []struct {
			days       int
			kind, data string
			code       int
		}{
			{140, "female", `{"female":"f1","name":"Saffron"}`, 201},
			{130, "laying", laying, 201},
			{80, "hatch", `{"egg":"c1-a"}`, 201},
			{79, "hatch", `{"egg":"c1-b","sex":"female"}`, 201},
			{81, "sexed", `{"egg":"c1-a","sex":"male","how":"anatomy"}`, 422},
			{5, "sexed", `{"egg":"c1-a","sex":"male","how":"anatomy"}`, 201},
			{4, "sexed", `{"clutch":"c1","males":1,"females":1,"how":"anatomy"}`, 422},
			{3, "sexed", `{"egg":"c1-b","sex":"female","how":"temperature"}`, 201},
		} {
			body := fmt.Sprintf(`{"request":"r%d","at":%q,"kind":%q,"data":%s}`, i, ago(e.days), e.kind, e.data)
			if code := c.post("/api/entries", body, nil); code != e.code {
				t.Fatalf("%s is answered by %d, want %d", body, code, e.code)
			}
		}
	})
	live(func(c client) { // and once more, from the disk
		shows(c, "/clutches/c1", "A male: looked at 27 Aug, 75 days old.", "A female, as seen the day it hatched.",
			"look at the sex now", "1 of 2 hatchlings, usually the easy ones")
		shows(c, "/entries", "Saffron A sexed: a male<", "Saffron B labelled by temperature, not looked at: a female<")
		shows(c, "/clutches", "day 50, male", "look at the sex now")
	})
}

// noProbes is a room without any.
type noProbes struct{}

func (noProbes) Probes() []sensors.Probe { return nil }

func (noProbes) Sample(context.Context, time.Time) []sensors.Outcome { return nil }
