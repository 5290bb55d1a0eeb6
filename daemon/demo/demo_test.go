package demo

import (
	"io"
	"log/slog"
	"testing"

	"clutchd/alerts"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/incubation/species"
)

// mute is a poster without a far side.
type mute struct{ got []alerts.Notice }

func (m *mute) Post(n ...alerts.Notice) { m.got = append(m.got, n...) }

func (m *mute) Pending() map[string]int { return map[string]int{} }

func (m *mute) Confirmed() map[string]uint64 { return nil }

// BenchmarkSeason lives through the whole invented season, on a real store.
func BenchmarkSeason(b *testing.B) {
	for b.Loop() {
		cfg := config.Default()
		cfg.StateDir = b.TempDir()
		s, err := newShow(cfg, true)
		if err != nil {
			b.Fatal(err)
		}
		kept, err := store.Open(b.Context(), cfg.StateDir, store.Options{})
		if err != nil {
			b.Fatal(err)
		}
		m := monitor.New(monitor.Options{
			Site: "demo", Zone: "UTC", Store: kept, Sampler: s, Poster: &mute{}, Quiet: true,
			Ensemble: species.Ensemble(1000), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		})
		if err := m.Start(b.Context()); err != nil {
			b.Fatal(err)
		}
		go func() { _ = m.Run(b.Context()) }()
		if err := s.prepare(b.Context(), m); err != nil {
			b.Fatal(err)
		}
		if err := kept.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
