package web_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/daemon/web"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// unread is a room without sensors, mute one that tells nobody.
type unread struct{}

func (unread) Probes() []sensors.Probe                             { return nil }
func (unread) Sample(context.Context, time.Time) []sensors.Outcome { return nil }

type mute struct{}

func (mute) Post(...alerts.Notice)        {}
func (mute) Pending() map[string]int      { return nil }
func (mute) Confirmed() map[string]uint64 { return nil }

// A season begins on an empty book, through the monitor's own door and a store
// on the disk: what was written there is there after a restart.
func TestHerdThroughTheRealDoor(t *testing.T) {
	folder := t.TempDir()
	begin := func(at time.Time) (*site, *monitor.Monitor, func()) {
		kept, err := store.Open(t.Context(), folder, store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		m := monitor.New(monitor.Options{
			Site: "Test", Zone: "Europe/Berlin", Store: kept, Sampler: unread{}, Poster: mute{},
			Ensemble: species.Ensemble(20), Log: slog.New(slog.DiscardHandler),
		})
		if err := m.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		ctx, stop := context.WithCancel(context.Background())
		done := make(chan struct{})
		go func() { defer close(done); _ = m.Run(ctx) }()
		m.Tick(ctx, monitor.Instant{Wall: at, Trusted: true, Boot: "test", Elapsed: time.Hour})
		s := open(t, func(o *web.Options) {
			o.Door, o.Entries, o.Snapshot, o.Doubts, o.Planner = m, m.Entries, m.Snapshot, m, m
		})
		return s, m, func() {
			stop()
			<-done
			if err := kept.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
	now := time.Now().UTC().Truncate(time.Second)
	s, m, end := begin(now)
	write := func(request string, pairs ...string) string {
		t.Helper()
		form := fill(pairs...)
		form.Set("request", request)
		w := s.ask("POST", "/entries", form.Encode())
		if w.Code != http.StatusSeeOther {
			t.Fatalf("%v answers %d\n%s", pairs, w.Code, errorsIn(w.Body.String()))
		}
		to, err := url.Parse(w.Header().Get("Location"))
		if err != nil {
			t.Fatal(err)
		}
		return to.Query().Get("written")
	}
	write("r1", "kind", "place", "name", "Tub 1", "place_kind", "enclosure")
	write("r2", "kind", "animal", "name", "Ember", "sex", "female")
	write("r3", "kind", "animal", "name", "Oak", "sex", "male")
	m.Tick(t.Context(), monitor.Instant{Wall: now.Add(10 * time.Second), Trusted: true, Boot: "test", Elapsed: time.Hour + 10*time.Second})
	write("r4", "kind", "housed", "animal", "ember", "enclosure", "tub-1")
	first := write("r5", "kind", "checked", "animal", "ember", "stage", "follicular/small")
	if again := write("r5", "kind", "checked", "animal", "ember", "stage", "follicular/small"); again != first {
		t.Errorf("a double tap is entry %s and %s", first, again)
	}
	write("r6", "kind", "checked", "animal", "ember", "stage", "follicular/large", "replaces", first)
	write("r7", "kind", "paired", "female", "ember", "judged", "ember", "male", "oak", "outcome", "accepted")
	wrong := write("r8", "kind", "weighed", "animal", "ember", "grams", "58")
	write("r9", "kind", "void", "entry", wrong)
	end()

	s, _, end = begin(now.Add(time.Hour))
	defer end()
	page := s.ask("GET", "/females/ember", "").Body.String()
	for _, says := range []string{
		"Follicular, large", "Corrected: Ember: follicular, small", "Oak</a> · accepted", "Taken back: Ember weighs 58", "Tub 1",
	} {
		if !strings.Contains(page, says) {
			t.Errorf("after a restart the page does not say %q", says)
		}
	}
	if strings.Contains(page, "<h2>Weight</h2>") {
		t.Error("a weight that was taken back is drawn")
	}
}
