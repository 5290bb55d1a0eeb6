package daemon_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"clutchd/alerts"
)

// strained is how strace stands before a program, as a detached tracer: the
// program stays our own child, to be killed.
func strained(t *testing.T, inject string) []string {
	t.Helper()
	call, _, _ := strings.Cut(inject, ":")
	return []string{
		program(t, "strace", "strace"), "-D", "-f", "-qq", "-o", "/dev/null", "--seccomp-bpf",
		"-e", "trace=" + call, "-e", "inject=" + inject,
	}
}

// Whatever the disk does, what is posted reaches every destination that is
// there; what the disk had is sent by the next life too, under the same ids.
func TestTellsOnABadDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of real time")
	}
	t.Parallel()
	tests := []struct {
		sentence string
		inject   string // for strace; "": a small disk is filled
	}{
		{"it is full", ""},
		{"it fails every write it is asked to finish", "fdatasync:error=EIO:when=40+"},
		{"it fails each write", "pwrite64:error=ENOSPC:when=60+"},
		{"each write hangs for seconds", "fdatasync:delay_enter=6000000:when=40+"},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			t.Parallel()
			w := newCourse(t)
			var before []string
			var makeRoom func()
			if tt.inject == "" {
				makeRoom = w.smallDisk()
			} else {
				before = strained(t, tt.inject)
			}
			v := w.start(before...)
			w.await(v, "notices that the disk does not take", func(posted, kept int) bool { return posted >= kept+10 })
			fault := time.Now()
			w.await(v, "some more of them", func(posted, kept int) bool { return posted >= kept+60 })
			w.arrived(w.newest(v))
			if makeRoom != nil {
				makeRoom()
				w.await(v, "the disk to have them all again", func(posted, kept int) bool { return posted < kept+5 })
			}
			v.end(syscall.SIGKILL)
			w.autopsy(v)
			w.drain()
			told := 0
			for _, at := range w.posted {
				if at.After(fault) {
					told++
				}
			}
			w.Logf("%d posted while the disk took nothing", told)
			w.check(1)
		})
	}
}

// smallDisk puts the folder on a disk of its own and fills it; freeing makes
// room again. Where none may be mounted the test is skipped.
func (w *course) smallDisk() (free func()) {
	w.Helper()
	if err := syscall.Mount("clutchd-test", w.orders.Folder, "tmpfs", 0, "size=4m"); err != nil {
		w.Skipf("no disk can be mounted here (%v): the injected failures stand for it", err)
	}
	w.Cleanup(func() { _ = syscall.Unmount(w.orders.Folder, syscall.MNT_DETACH) })
	// The store makes its files on a disk with room.
	v := w.start()
	w.await(v, "a store", func(_, kept int) bool { return kept > 0 })
	v.end(syscall.SIGTERM)
	w.read(v)
	ballast := filepath.Join(w.orders.Folder, "ballast")
	f, err := os.Create(ballast)
	if err != nil {
		w.Fatal(err)
	}
	for block := make([]byte, 4096); err == nil; {
		_, err = f.Write(block)
	}
	f.Close()
	return func() {
		if err := os.Remove(ballast); err != nil {
			w.Error(err)
		}
	}
}

// await returns once a poster has said enough.
func (w *course) await(v *victim, what string, enough func(posted, kept int) bool) {
	w.Helper()
	for late := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		text := v.words()
		if enough(strings.Count(text, `"What":"posted"`), strings.Count(text, `"What":"kept"`)) {
			return
		}
		if time.Now().After(late) {
			w.Fatalf("%s: not within %s:\n%s", what, patience, text)
		}
	}
}

// newest gives the notice that a poster posted last.
func (w *course) newest(v *victim) (id uint64) {
	for _, line := range strings.Split(v.words(), "\n") {
		var s said
		if json.Unmarshal([]byte(line), &s) == nil && s.What == "posted" {
			id = s.ID
		}
	}
	return id
}

// arrived returns once a notice has reached every destination.
func (w *course) arrived(id uint64) {
	w.Helper()
	is := isNotice(id)
	for _, p := range w.phones {
		p.await("a notice past the disk", is)
	}
	for late := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		for _, m := range w.service.heard() {
			if is(m) {
				return
			}
		}
		if time.Now().After(late) {
			w.Fatalf("notice %d has not reached the webhook within %s", id, patience)
		}
	}
}

func isNotice(id uint64) func(told) bool {
	return func(m told) bool {
		var n alerts.NoticePayload
		return json.Unmarshal([]byte(m.payload), &n) == nil && n.ID == id
	}
}
