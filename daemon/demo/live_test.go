package demo

import (
	"io"
	"log/slog"
	"runtime"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/species"
)

// live lives a season up to now, and goes on live.
func live(t *testing.T, calm bool) (*show, *monitor.Monitor, *mute) {
	t.Helper()
	cfg := config.Default()
	cfg.StateDir = t.TempDir()
	s, err := newShow(cfg, calm)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := store.Open(t.Context(), cfg.StateDir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sent := &mute{}
	m := monitor.New(monitor.Options{
		Site: "demo", Zone: "UTC", Store: kept, Sampler: s, Contacts: s, Poster: sent, Quiet: true,
		Ensemble: species.Ensemble(60), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	if err := m.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	done := make(chan struct{})
	go func() { _ = m.Run(t.Context()); close(done) }()
	t.Cleanup(func() { <-done; _ = kept.Close() })
	if err := s.prepare(t.Context(), m); err != nil {
		t.Fatal(err)
	}
	m.Live()
	return s, m, sent
}

func slowUnderRace(t *testing.T) {
	t.Helper()
	if underRace {
		t.Skip("a season takes minutes under the race detector: left to the plain and the 32-bit run")
	}
}

// What the demo promises: within a few minutes one is told of a thermostat that
// sticks.
func TestTheFeverIsTold(t *testing.T) {
	slowUnderRace(t)
	s, m, sent := live(t, false)
	for now := s.now; now.Before(s.now.Add(4 * time.Minute)); {
		now = now.Add(fine)
		m.Tick(t.Context(), s.at(now))
	}
	if len(sent.got) != 1 || sent.got[0].Rule != "heating-early" || sent.got[0].Severity != alerts.Critical {
		t.Errorf("within four minutes it told %+v; want the cabinet that warms fast, alone", sent.got)
	}
}

// Going live with a season behind is no news in itself: the first hours of a
// calm room say nothing but what these hours bring.
func TestGoingLiveIsNoNews(t *testing.T) {
	slowUnderRace(t)
	s, m, sent := live(t, true)
	now := s.now
	tick := func() {
		now = now.Add(fine)
		m.Tick(t.Context(), s.at(now))
	}
	for tick(); computing(m.Snapshot()); tick() {
		now = now.Add(-fine) // records are read beside, and take no virtual time
		runtime.Gosched()
	}
	for range 3 * time.Hour / fine {
		tick()
	}
	open := 0
	for _, c := range m.Snapshot().Clutches {
		for _, e := range c.Eggs {
			if e.Box != "" && e.Estimate != nil && e.TSP.State == incubation.TSPOpen {
				open++
			}
		}
	}
	if open < 2 {
		t.Errorf("%d eggs with an open TSP; there must be some for this to mean anything", open)
	}
	for _, n := range sent.got {
		if n.Rule != "hatch-near" { // to look for from now on, whoever looks
			t.Errorf("%s %s %s: %s", n.Reason, n.Rule, n.Subject.Name, n.Text)
		}
	}
}

// A room that was left alone for a while speaks of now when it is asked again:
// no probe seems to have been silent.
func TestARoomCaughtUpSpeaksOfNow(t *testing.T) {
	for minutes := range 21 {
		s, err := newShow(config.Config{StateDir: t.TempDir()}, true)
		if err != nil {
			t.Fatal(err)
		}
		s.enter(s.now.Add(-closeUp))
		at := s.now.Add(-time.Duration(minutes) * time.Minute)
		s.catchUp(t.Context(), at)
		said := s.Sample(t.Context(), at.Add(fine))
		if len(said) == 0 {
			t.Fatalf("%d minutes before now: nothing said", minutes)
		}
		if old := at.Add(fine).Sub(said[0].Time); old >= 2*fine {
			t.Errorf("%d minutes before now it speaks of %v before", minutes, old)
		}
	}
}

func computing(s *monitor.Snapshot) bool {
	for _, c := range s.Clutches {
		for _, e := range c.Eggs {
			if e.Computing {
				return true
			}
		}
	}
	return false
}
