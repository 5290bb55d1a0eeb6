package store_test

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"clutchd/daemon/store"
)

// The folder is for its owner only and is made with what lies above it.
func TestOpenMakesThePrivateFolder(t *testing.T) {
	dir := filepath.Join(folder(t), "a", "b")
	shut(t, open(t, dir))
	for _, name := range []string{"", bookFile, "lock"} {
		info, err := os.Stat(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%q may be read by others: %v", name, info.Mode())
		}
	}
}

// A second opener is told who has the folder and what to do, in the same
// process and in another.
func TestSecondOpenerIsRefused(t *testing.T) {
	dir := folder(t)
	st, err := store.Open(t.Context(), dir, store.Options{Socket: "/run/room/socket"})
	if err != nil {
		t.Fatal(err)
	}
	_, err = store.Open(t.Context(), dir, store.Options{})
	mine := fmt.Sprintf("process %d", os.Getpid())
	if !errors.Is(err, store.ErrHeld) || !strings.Contains(err.Error(), mine) {
		t.Errorf("second open: %v", err)
	}
	if hint := store.Hint(err); !strings.Contains(hint, "/run/room/socket") {
		t.Errorf("hint %q does not name the socket", hint)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), writerEnv+"="+dir, stepsEnv+"=1")
	out, err := cmd.CombinedOutput()
	if err == nil || !strings.Contains(string(out), "has held it since") {
		t.Errorf("another process: %v, %s", err, out)
	}
	shut(t, st)
	shut(t, open(t, dir))
}

// A lock file without its content still locks.
func TestUnsignedLockStillHolds(t *testing.T) {
	dir := folder(t)
	st := open(t, dir)
	defer shut(t, st)
	if err := os.Truncate(filepath.Join(dir, "lock"), 0); err != nil {
		t.Fatal(err)
	}
	_, err := store.Open(t.Context(), dir, store.Options{})
	if !errors.Is(err, store.ErrHeld) || store.Hint(err) == "" {
		t.Errorf("second open: %v, hint %q", err, store.Hint(err))
	}
}

// A file of a newer schema is refused with a sentence and a hint, and left as
// it is.
func TestNewerSchemaIsRefused(t *testing.T) {
	for _, name := range []string{bookFile, historyFile} {
		t.Run(name, func(t *testing.T) {
			s := makeSound(t)
			later := store.WithLater(func(*bbolt.Tx) error { return nil })
			st, err := store.Open(t.Context(), s.dir, later)
			if err != nil {
				t.Fatal(err)
			}
			shut(t, st)
			if name == historyFile {
				remove(t, s, bookFile)
			}
			before, err := os.ReadFile(filepath.Join(s.dir, name))
			if err != nil {
				t.Fatal(err)
			}
			for _, backup := range glob(t, s.dir, "book-backup-*") {
				os.Remove(backup)
			}
			_, err = store.Open(t.Context(), s.dir, store.Options{})
			if !errors.Is(err, store.ErrNewer) || store.Hint(err) == "" ||
				!strings.Contains(err.Error(), name) {
				t.Errorf("open: %v, hint %q", err, store.Hint(err))
			}
			after, err := os.ReadFile(filepath.Join(s.dir, name))
			if err != nil || string(after) != string(before) {
				t.Errorf("the file was changed, %v", err)
			}
		})
	}
}

func glob(t *testing.T, dir, pattern string) []string {
	t.Helper()
	all, err := filepath.Glob(filepath.Join(dir, pattern))
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// A migration runs once, behind a copy of the file as it was; one that fails
// leaves the file in its old schema.
func TestMigrationIsBackedUp(t *testing.T) {
	s := makeSound(t)
	broken := errors.New("broken step")
	fails := store.WithLater(func(*bbolt.Tx) error { return broken })
	_, err := store.Open(t.Context(), s.dir, fails)
	if !errors.Is(err, broken) {
		t.Fatalf("open with a broken step: %v", err)
	}
	shut(t, open(t, s.dir)) // still the schema of today
	for _, backup := range glob(t, s.dir, "*-backup-*") {
		os.Remove(backup)
	}
	runs := 0
	step := func(tx *bbolt.Tx) error { runs++; return nil }
	for range 2 {
		st, err := store.Open(t.Context(), s.dir, store.WithLater(step))
		if err != nil {
			t.Fatal(err)
		}
		if entries, err := st.Entries(t.Context()); err != nil || len(entries) != len(s.entries) {
			t.Errorf("%d entries, %v", len(entries), err)
		}
		shut(t, st)
	}
	if runs != 2 { // the book and the history
		t.Errorf("the step ran %d times, want once for each of two files", runs)
	}
	backups := glob(t, s.dir, "book-backup-*.db")
	if len(backups) != 1 {
		t.Fatalf("copies %v, want one", backups)
	}
	old := sound{dir: folder(t), entries: s.entries}
	if err := os.MkdirAll(old.dir, 0o700); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(backups[0])
	if err != nil {
		t.Fatal(err)
	}
	overwrite(t, old, bookFile, content)
	st := open(t, old.dir)
	defer shut(t, st)
	if entries, err := st.Entries(t.Context()); err != nil || len(entries) != len(s.entries) {
		t.Errorf("the copy holds %d entries, %v", len(entries), err)
	}
}

// A full disk is an error; what was there stays, and once there is room the
// same call goes through.
func TestFullDisk(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("run as root to mount a small disk")
	}
	mount := t.TempDir()
	if err := syscall.Mount("tmpfs", mount, "tmpfs", 0, "size=700k"); err != nil {
		t.Skipf("a small disk cannot be mounted here: %v", err)
	}
	defer syscall.Unmount(mount, syscall.MNT_DETACH)
	ballast := filepath.Join(mount, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 200<<10), 0o600); err != nil {
		t.Fatal(err)
	}
	s := open(t, filepath.Join(mount, "store"))
	defer func() { shut(t, s) }()
	r := newRoom(20, 10*time.Second)
	at, kept := noon, 0
	var full error
	for full == nil && kept < 20_000 {
		all := r.readings(at, time.Minute)
		if full = s.Append(t.Context(), all); full == nil {
			at, kept = at.Add(time.Minute), kept+1
		}
	}
	if !errors.Is(full, syscall.ENOSPC) {
		t.Fatalf("after %d minutes: %v, want a full disk", kept, full)
	}
	if got, errs := collect(t, s, "shelf-a", noon, at); len(got) != 6*kept || errs != nil {
		t.Errorf("%d readings of %d, %v", len(got), 6*kept, errs)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	put(t, s, r.readings(at, time.Minute))
	got, errs := collect(t, s, "shelf-a", noon, at.Add(time.Minute))
	if len(got) != 6*(kept+1) || errs != nil {
		t.Errorf("with room again: %d readings of %d, %v", len(got), 6*(kept+1), errs)
	}
}
