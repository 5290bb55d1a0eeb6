package store_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A sound is a folder whose content is known.
type sound struct {
	dir      string
	entries  []book.Entry
	readings []incubation.Reading
	nextID   uint64
}

const (
	bookFile    = "book.db"
	historyFile = "history-2026.db"
)

// makeSound writes a folder with several pages of everything: packed blocks,
// rows not yet packed, entries, notices, ids.
func makeSound(t testing.TB) sound {
	t.Helper()
	s := sound{dir: folder(t)}
	st := open(t, s.dir)
	for i := range 60 {
		e := scriptEntry(i)
		e.By = strings.Repeat("keeper ", 20)
		s.entries = append(s.entries, e)
		if err := st.CommitBook(t.Context(), []book.Entry{e}, alerts.Changes{}); err != nil {
			t.Fatal(err)
		}
	}
	s.readings = every("shelf-1", noon, 10*time.Second, 360*15)
	for hour := range slices.Chunk(s.readings, 360) {
		put(t, st, hour)
	}
	first, err := st.Reserve(t.Context(), 500)
	if err != nil {
		t.Fatal(err)
	}
	s.nextID = first + 500
	shut(t, st)
	return s
}

// copyOf copies the folder for one experiment.
func (s sound) copyOf(t testing.TB, dir string) {
	t.Helper()
	if err := os.CopyFS(dir, os.DirFS(s.dir)); err != nil {
		t.Fatal(err)
	}
}

// An injury is one way to damage a file.
type injury struct {
	why string
	do  func(content []byte) []byte
}

// injuries gives ways to damage a file of this content; every page comes by.
func injuries(content []byte) []injury {
	all := []injury{
		{"emptied", func([]byte) []byte { return nil }},
		{"one byte left", func(c []byte) []byte { return c[:1] }},
		{"cut in the middle of a page", func(c []byte) []byte { return c[:len(c)/2+100] }},
		{"replaced by text", func(c []byte) []byte { return []byte(strings.Repeat("not a book ", 9000)) }},
	}
	rng := rand.New(rand.NewPCG(3, 4))
	for at := 0; at < len(content); at += 4096 {
		all = append(all,
			injury{fmt.Sprintf("page at %d zeroed", at), func(c []byte) []byte {
				clear(c[at:min(at+4096, len(c))])
				return c
			}},
			injury{fmt.Sprintf("page at %d filled with noise", at), func(c []byte) []byte {
				for i := range min(4096, len(c)-at) {
					c[at+i] = byte(rng.Uint32())
				}
				return c
			}},
			injury{fmt.Sprintf("cut at %d", at), func(c []byte) []byte { return c[:at] }})
	}
	for at := 0; at < len(content); at += 1 + rng.IntN(160) {
		bit := byte(1) << rng.IntN(8)
		if at%4096 < 100 { // page headers, first elements: more often
			at -= at % 3
		}
		flip := func(c []byte) []byte {
			c[at] ^= bit
			return c
		}
		all = append(all, injury{fmt.Sprintf("bit %#x of byte %d flipped", bit, at), flip})
	}
	return all
}

// However a file is damaged: opening works, nothing panics, nothing false
// comes back, and what is missing is told.
func TestDamageIsToldAndSetAside(t *testing.T) {
	s := makeSound(t)
	for _, name := range []string{bookFile, historyFile} {
		t.Run(name, func(t *testing.T) {
			content, err := os.ReadFile(filepath.Join(s.dir, name))
			if err != nil {
				t.Fatal(err)
			}
			all := injuries(content)
			told := 0
			for i, in := range all {
				if i%sampled != 0 {
					continue
				}
				dir := filepath.Join(folder(t), "x")
				s.copyOf(t, dir)
				hurt := in.do(slices.Clone(content))
				if err := os.WriteFile(filepath.Join(dir, name), hurt, 0o600); err != nil {
					t.Fatal(err)
				}
				if s.examine(t, dir, name, in.why) {
					told++
				}
				os.RemoveAll(dir)
			}
			t.Logf("%d injuries, %d told", len(all)/sampled, told)
		})
	}
}

// examine opens a damaged folder and reports whether it told of damage.
func (s sound) examine(t *testing.T, dir, name, why string) bool {
	t.Helper()
	st, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatalf("%s: open: %v", why, err)
	}
	defer shut(t, st)
	entries, err := st.Entries(t.Context())
	if err != nil {
		t.Fatalf("%s: entries: %v", why, err)
	}
	readings, errs := collect(t, st, "shelf-1", noon.AddDate(-1, 0, 0), noon.AddDate(1, 0, 0))
	first, err := st.Reserve(t.Context(), 1)
	if err != nil || first < s.nextID {
		t.Fatalf("%s: id %d given again, %v", why, first, err)
	}
	lost := s.missing(t, why, entries, readings)
	told := st.Damage()
	if lost && len(told) == 0 {
		t.Fatalf("%s: %d of %d entries, %d of %d readings, and nothing is told",
			why, len(entries), len(s.entries), len(readings), len(s.readings))
	}
	aside, _ := filepath.Glob(filepath.Join(dir, name+".damaged-*"))
	if len(told) > 0 && len(aside) == 0 && len(errs) == 0 {
		t.Fatalf("%s: told %q, but nothing was set aside and no range failed", why, told)
	}
	return len(told) > 0
}

// missing checks that nothing came back that was not stored and reports
// whether something stored did not.
func (s sound) missing(t *testing.T, why string, entries []book.Entry,
	readings []incubation.Reading,
) bool {
	t.Helper()
	bySeq := map[uint64]book.Entry{}
	for _, e := range s.entries {
		bySeq[e.Seq] = e
	}
	for _, e := range entries {
		if w := bySeq[e.Seq]; w.Seq == 0 || w.By != e.By || string(w.Data) != string(e.Data) {
			t.Fatalf("%s: entry %d came back as %+v", why, e.Seq, e)
		}
	}
	byTime := map[int64]incubation.Reading{}
	for _, r := range s.readings {
		byTime[r.Time.Unix()] = r
	}
	for _, r := range readings {
		if w, ok := byTime[r.Time.Unix()]; !ok || !alike(w, r) {
			t.Fatalf("%s: reading %+v was never stored", why, r)
		}
	}
	return len(entries) < len(s.entries) || len(readings) < len(s.readings)
}

// A damaged history leaves the book alone and takes new readings.
func TestDamagedHistoryGoesOn(t *testing.T) {
	s := makeSound(t)
	overwrite(t, s, historyFile, []byte("garbage"))
	st := open(t, s.dir)
	defer shut(t, st)
	if entries, err := st.Entries(t.Context()); err != nil || len(entries) != len(s.entries) {
		t.Fatalf("%d entries, %v", len(entries), err)
	}
	fresh := every("shelf-1", noon.Add(48*time.Hour), time.Minute, 10)
	put(t, st, fresh)
	got, errs := collect(t, st, "shelf-1", noon, noon.AddDate(0, 1, 0))
	if len(got) != 10 || errs != nil {
		t.Fatalf("%d readings, %v", len(got), errs)
	}
	if told := st.Damage(); len(told) != 1 || !strings.Contains(told[0], historyFile+".damaged-") {
		t.Fatalf("told %q", told)
	}
}

// A page that goes bad under a running store breaks neither it nor the
// process: the memory behind a file's map is gone when it is cut.
func TestFileCutWhileOpen(t *testing.T) {
	s := makeSound(t)
	st := open(t, s.dir)
	path := filepath.Join(s.dir, historyFile)
	if err := os.Truncate(path, 4096*2); err != nil {
		t.Fatal(err)
	}
	if _, errs := collect(t, st, "shelf-1", noon, noon.AddDate(0, 1, 0)); len(errs) != 1 {
		t.Errorf("reading from a cut file: errors %v, want one", errs)
	}
	fresh := every("shelf-1", noon.Add(48*time.Hour), time.Minute, 10)
	put(t, st, fresh)
	got, errs := collect(t, st, "shelf-1", noon, noon.AddDate(0, 1, 0))
	if len(got) != 10 || errs != nil {
		t.Errorf("after a new file was begun: %d readings, %v", len(got), errs)
	}
	if err := os.Truncate(filepath.Join(s.dir, bookFile), 4096*2); err != nil {
		t.Fatal(err)
	}
	if _, err := st.Entries(t.Context()); err == nil {
		t.Error("a cut book was read without an error")
	}
	if _, err := st.Reserve(t.Context(), 1); err == nil {
		t.Error("a cut book was written without an error")
	}
	shut(t, st)
	st = open(t, s.dir)
	defer shut(t, st)
	if len(st.Damage()) == 0 {
		t.Error("a cut book was opened again and nothing told")
	}
}

// A damaged or missing book is begun from its newest sound copy, and what can
// still be read of the damaged one is added.
func TestBookFallsBackToItsNewestCopy(t *testing.T) {
	for _, c := range []struct {
		why     string
		hurt    func(t *testing.T, s sound)
		entries int // of 60; the copy has 20
	}{
		{"missing", func(t *testing.T, s sound) { remove(t, s, bookFile) }, 20},
		{"garbage", func(t *testing.T, s sound) { overwrite(t, s, bookFile, []byte("garbage")) }, 20},
		{"newest copy damaged too", func(t *testing.T, s sound) {
			overwrite(t, s, "book-backup-20260602T000000Z.db", []byte("garbage"))
			overwrite(t, s, bookFile, []byte("garbage"))
		}, 20},
	} {
		t.Run(c.why, func(t *testing.T) {
			s := makeSound(t)
			backup(t, s, "book-backup-20260101T000000Z.db", 20)
			c.hurt(t, s)
			st := open(t, s.dir)
			defer shut(t, st)
			entries, err := st.Entries(t.Context())
			if err != nil || len(entries) != c.entries {
				t.Errorf("%d entries, want %d, %v", len(entries), c.entries, err)
			}
			told := st.Damage()
			if len(told) != 1 || !strings.Contains(told[0], "book-backup-20260101T000000Z.db") {
				t.Errorf("told %q", told)
			}
		})
	}
}

// backup lays a copy beside the book that holds its first n entries.
func backup(t *testing.T, s sound, name string, n int) {
	t.Helper()
	dir := folder(t)
	st := open(t, dir)
	if err := st.CommitBook(t.Context(), s.entries[:n], alerts.Changes{}); err != nil {
		t.Fatal(err)
	}
	shut(t, st)
	content, err := os.ReadFile(filepath.Join(dir, bookFile))
	if err != nil {
		t.Fatal(err)
	}
	overwrite(t, s, name, content)
}

func overwrite(t *testing.T, s sound, name string, content []byte) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(s.dir, name), content, 0o600); err != nil {
		t.Fatal(err)
	}
}

func remove(t *testing.T, s sound, name string) {
	t.Helper()
	if err := os.Remove(filepath.Join(s.dir, name)); err != nil {
		t.Fatal(err)
	}
}
