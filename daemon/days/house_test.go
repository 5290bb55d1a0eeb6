package days_test

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/browser"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation/book"
)

// password opens every invented room.
const password = "sand and vermiculite"

// A house is the whole daemon on an invented room.
type house struct {
	t      *testing.T
	url    string
	folder string
	world  *world
	zone   *time.Location
	end    func() // stops the daemon
}

// A teller writes an entry into the book, so long ago.
type teller func(ago time.Duration, kind book.Kind, data any)

// A story is how a room came to be what it is when the day begins.
type story struct {
	world  *world
	tell   func(write teller)                // the book, in order
	before func(w *world, ago time.Duration) // how the last 40 minutes went; nil: well
	change func(*config.Config)
	locked bool   // there is a password
	folder string // of a room that was there before; "": a new one
}

// How long before the day its room was watched: long enough for an alert to be
// raised, where something is to happen.
const (
	lived  = 2 * time.Minute
	longer = 40 * time.Minute
)

// begin starts the daemon, which ends with the test.
func begin(t *testing.T, s story) *house {
	t.Helper()
	h := &house{t: t, folder: cmp.Or(s.folder, t.TempDir()), world: s.world}
	cfg := config.Default()
	cfg.Site, cfg.StateDir, cfg.Clock, cfg.Kernel.Off = "invented", h.folder, config.ClockSystem, true
	cfg.Web.Listen, cfg.Broker.Listen, cfg.Zone = "127.0.0.1:0", "", "Europe/Lisbon"
	if s.change != nil {
		s.change(&cfg)
	}
	var err error
	if h.zone, err = cfg.Location(); err != nil {
		t.Fatal(err)
	}
	if s.locked && s.folder == "" {
		hash, err := web.HashPassword(password)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(h.folder, daemon.PasswordFile), []byte(hash), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	ready, ended := make(chan string, 1), make(chan error, 1)
	go func() {
		ended <- daemon.Run(ctx, daemon.Settings{
			Config: cfg, Log: slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelError})),
			Sampler: s.world, Contacts: s.world, Tick: 200 * time.Millisecond,
			Prepare: func(ctx context.Context, m *monitor.Monitor) error { return s.prepare(ctx, m, cfg.Zone) },
			Ready:   func(at daemon.Addresses) { ready <- at.Web.String() },
		})
	}()
	h.end = sync.OnceFunc(func() {
		stop()
		if err := <-ended; err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("the daemon ended: %v", err)
		}
	})
	t.Cleanup(h.end)
	select {
	case at := <-ready:
		if h.url = "http://" + at; cfg.Web.CertFile != "" {
			h.url = "https://" + at
		}
	case err := <-ended:
		ended <- nil
		t.Fatalf("the daemon ended: %v", err)
	}
	return h
}

// prepare tells the book and watches the room for a while.
func (s story) prepare(ctx context.Context, m *monitor.Monitor, zone string) error {
	now := time.Now()
	tick := func(ago time.Duration) {
		m.Tick(ctx, monitor.Instant{Wall: now.Add(-ago), Trusted: true, Boot: "story", Elapsed: 1000*time.Hour - ago})
	}
	span := lived
	if s.before != nil {
		span = longer
	}
	tick(span + time.Minute)
	var failed error
	if s.tell != nil {
		s.tell(func(ago time.Duration, kind book.Kind, data any) {
			text, err := json.Marshal(data)
			if err == nil {
				_, err = m.Do(ctx, monitor.Change{Entry: &book.Entry{
					At: now.Add(-ago).UTC(), Zone: zone, By: "story", Kind: kind, Data: text,
				}})
			}
			if err != nil && failed == nil {
				failed = err
			}
		})
	}
	for ago := span; ago > 0 && failed == nil; ago -= 20 * time.Second {
		if s.before != nil {
			s.before(s.world, ago)
		}
		tick(ago)
	}
	return failed
}

// entries gives the book's entries of a kind, as the API tells them.
func (h *house) entries(kind book.Kind) []book.Entry {
	h.t.Helper()
	var all []book.Entry
	h.get("/api/entries", &all)
	return slices.DeleteFunc(all, func(e book.Entry) bool { return e.Kind != kind || e.By == "story" })
}

// get reads JSON as a program with the password does.
func (h *house) get(path string, v any) {
	h.t.Helper()
	r, err := http.NewRequest(http.MethodGet, h.url+path, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	r.SetBasicAuth("", password)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		h.t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		h.t.Fatalf("%s answers %s", path, answer.Status)
	}
	if err := json.NewDecoder(answer.Body).Decode(v); err != nil {
		h.t.Fatalf("%s: %v", path, err)
	}
}

// login shows the password on the page that asks for it.
func (h *house) login(p *browser.Tab, name string) {
	h.t.Helper()
	p.Open(h.url + "/")
	p.Type("#f-password", password)
	if name != "" {
		p.Type("#f-name", name)
	}
	p.Follow("main form button")
	if at := p.At(); at != "/" {
		h.t.Fatalf("the login leads to %s: %s", at, p.Text("main"))
	}
}

// data reads an entry's data.
func data[T any](t *testing.T, e book.Entry) (d T) {
	t.Helper()
	if err := json.Unmarshal(e.Data, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// one gives the only element of a list.
func one[T any](t *testing.T, what string, list []T) T {
	t.Helper()
	if len(list) != 1 {
		t.Fatalf("%s: %d of them: %v", what, len(list), list)
	}
	return list[0]
}

func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// send sends the form on the page.
func send(t *testing.T, p *browser.Tab) {
	t.Helper()
	p.Follow("form.entry button.first")
	if said := p.Text(".error"); said != "" {
		t.Errorf("the form is answered: %s", said)
	}
}
