package web_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
)

// A stream is an open page's end of /events.
type stream struct {
	*httptest.ResponseRecorder
	parts chan string
}

func (s stream) Write(b []byte) (int, error) { s.parts <- string(b); return len(b), nil }
func (s stream) Flush()                      {}

func listen(t *testing.T, s *site) (next func() string, stop func()) {
	ctx, cancel := context.WithCancel(t.Context())
	r := httptest.NewRequestWithContext(ctx, "GET", "/events", nil)
	r.Host = "localhost"
	out := stream{httptest.NewRecorder(), make(chan string, 100)}
	done := make(chan struct{})
	go func() { defer close(done); s.handler.ServeHTTP(out, r) }()
	return func() string { return <-out.parts }, func() { cancel(); <-done }
}

type patch struct {
	Structure, Now, Late string
	Text, State, X       map[string]string
}

func readPatch(t *testing.T, event string) patch {
	t.Helper()
	_, data, ok := strings.Cut(event, "event: tick\ndata: ")
	var p patch
	if err := json.Unmarshal([]byte(data), &p); !ok || err != nil {
		t.Fatalf("%q: %v", event, err)
	}
	return p
}

func TestEventsTellEachTick(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		tick := make(chan struct{})
		s := open(t, func(o *web.Options) { o.Changed = func() <-chan struct{} { return tick } })
		next, stop := listen(t, s)
		first := readPatch(t, next())
		if first.Text["value box-2"] != "33.4" || first.State["box-2"] != "danger" || first.X["box-2"] == "" ||
			first.Text["flag tin"] != "" || first.Text["word tin"] != "normal" {
			t.Errorf("first event %+v", first)
		}
		synctest.Wait()
		after := *s.snap
		after.Tick, after.Time = s.snap.Tick+1, noon.Add(10*time.Second)
		after.Places = append([]monitor.PlaceNow(nil), after.Places...)
		after.Places[2].Celsius, after.Places[2].Worst = ptr(incubation.Celsius(32.2)), ""
		time.Sleep(10 * time.Second)
		s.snap = &after
		old := tick
		tick = make(chan struct{})
		close(old)
		second := readPatch(t, next())
		if second.Text["value box-2"] != "32.2" || second.State["box-2"] != "normal" || second.Structure != first.Structure {
			t.Errorf("second event %+v", second)
		}
		if beat := next(); !strings.HasPrefix(beat, ":") {
			t.Errorf("a quiet stream says %q", beat)
		}
		for range 10 {
			if event := next(); strings.HasPrefix(event, "event:") {
				if p := readPatch(t, event); p.Late == "" {
					t.Error("a stopped watch is not told")
				}
				stop()
				return
			}
		}
		t.Error("a minute and more without a tick, and no word of it")
		stop()
	})
}

func TestEventsSayWhenRowsHaveChanged(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		structure := func() string {
			next, stop := listen(t, s)
			defer stop()
			return readPatch(t, next()).Structure
		}
		was := structure()
		if page := s.ask("GET", "/", "").Body.String(); !strings.Contains(page, `data-structure="`+was+`"`) {
			t.Error("the page and its events do not agree from the start")
		}
		for sentence, change := range map[string]func(*monitor.Snapshot){
			"an alert acknowledged": func(n *monitor.Snapshot) { n.Alerts[0].Acknowledged = noon },
			"an alert gone":         func(n *monitor.Snapshot) { n.Alerts = n.Alerts[1:] },
			"a probe placed":        func(n *monitor.Snapshot) { n.Probes[6].Place = "box-3" },
			"an egg hatched":        func(n *monitor.Snapshot) { n.Clutches[0].Eggs[0].State = incubation.Hatched },
			"a place renamed":       func(n *monitor.Snapshot) { n.Places[0].Name = "Ash cabinet" },
		} {
			s.snap = today(t, invented(t))
			change(s.snap)
			if structure() == was {
				t.Errorf("%s changes no row", sentence)
			}
		}
	})
}

func TestEventsDoNotTakeAllThereIs(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for range 32 {
			next, stop := listen(t, s)
			next()
			defer stop()
		}
		if w := s.ask("GET", "/events", ""); w.Code != http.StatusServiceUnavailable {
			t.Errorf("the 33rd listener gets %d", w.Code)
		}
	})
}
