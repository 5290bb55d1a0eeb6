package store_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"clutchd/daemon/store"
	"clutchd/incubation"
)

// noon is the day most tests play on.
var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// folder gives an empty folder in memory where there is one: these tests ask
// for many syncs and measure none.
func folder(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "store-test-")
	if err != nil {
		return filepath.Join(t.TempDir(), "store")
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return filepath.Join(dir, "store")
}

func open(t testing.TB, dir string) *store.Store {
	t.Helper()
	s, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatalf("open: %v", err)
	}
	return s
}

func shut(t testing.TB, s *store.Store) {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatalf("close: %v", err)
	}
}

// warm is a reading of a temperature.
func warm(probe string, at time.Time, celsius float64) incubation.Reading {
	return incubation.Reading{
		Probe: probe, Time: at, Has: incubation.Temperature, Celsius: incubation.Celsius(celsius),
	}
}

// every gives n readings of a probe, step apart, that drift a little.
func every(probe string, from time.Time, step time.Duration, n int) []incubation.Reading {
	var all []incubation.Reading
	for i := range n {
		all = append(all, warm(probe, from.Add(time.Duration(i)*step), 28+float64(i%40)/100))
	}
	return all
}

// collect takes a whole range; damage is its errors.
func collect(t testing.TB, s *store.Store, probe string, from, to time.Time) (
	all []incubation.Reading, damage []error,
) {
	t.Helper()
	for r, err := range s.Range(t.Context(), probe, from, to) {
		if err != nil {
			damage = append(damage, err)
			continue
		}
		all = append(all, r)
	}
	return all, damage
}

// put appends readings.
func put(t testing.TB, s *store.Store, all []incubation.Reading) {
	t.Helper()
	if err := s.Append(t.Context(), all); err != nil {
		t.Fatalf("append: %v", err)
	}
}
