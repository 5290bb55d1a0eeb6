package store_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/store"
	"clutchd/incubation/book"
)

func copies(t *testing.T, dir string) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, "book-backup-*.db"))
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestBackup(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	for _, step := range []struct {
		about string
		after time.Duration
		want  int // copies then
	}{
		{"the first copy", 0, 1},
		{"an hour later there is a young one", time.Hour, 1},
		{"a day later another", 24 * time.Hour, 2},
		{"a third", 48 * time.Hour, 3},
		{"the oldest goes when a fourth comes", 72 * time.Hour, 3},
		{"a clock that was ahead does not keep a copy from being made", -time.Hour, 3},
	} {
		if err := s.Backup(t.Context(), now.Add(step.after), 24*time.Hour); err != nil {
			t.Fatalf("%s: %v", step.about, err)
		}
		if got := len(copies(t, dir)); got != step.want {
			t.Errorf("%s: %d copies, want %d", step.about, got, step.want)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// A book cut short begins again from its copy, with all that was in it then.
func TestBackupHelps(t *testing.T) {
	dir := t.TempDir()
	s, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
	entry := book.Entry{Seq: 1, At: now, Made: now, Zone: "UTC", Kind: book.KindNote, Data: []byte(`{"text":"x"}`)}
	if err := s.CommitBook(t.Context(), []book.Entry{entry}, alerts.Changes{}); err != nil {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), now, time.Hour); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(filepath.Join(dir, "book.db"), 100); err != nil {
		t.Fatal(err)
	}
	s, err = store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	entries, err := s.Entries(t.Context())
	if err != nil || len(entries) != 1 || entries[0].Seq != 1 {
		t.Errorf("entries %+v, %v; want the one that was backed up", entries, err)
	}
	if len(s.Damage()) == 0 {
		t.Error("nobody is told that the book was damaged")
	}
}
