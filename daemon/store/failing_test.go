package store_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// suffer runs the writer on dir while strace injects into its calls. It gives
// what was acknowledged and how often a call of the store was refused.
func suffer(t *testing.T, dir, inject string, steps int) (acks, int, error) {
	t.Helper()
	call, _, _ := strings.Cut(inject, ":")
	cmd := exec.Command(peer(t, "strace"), "-f", "-qq", "-o", os.DevNull, "-e", "trace="+call,
		"-e", "inject="+inject, os.Args[0])
	cmd.Env = append(os.Environ(), writerEnv+"="+dir, patientEnv+"=1",
		"GORACE=atexit_sleep_ms=0",
		fmt.Sprintf("%s=%d", stepsEnv, steps))
	out, err := cmd.Output()
	told, refused := acks{}, 0
	for line := range strings.Lines(string(out)) {
		var name string
		var step int
		if n, _ := fmt.Sscanf(line, "ack %s %d", &name, &step); n != 2 {
			continue
		}
		if name == "refused" {
			refused++
		} else {
			told.note(name, step)
		}
	}
	return told, refused, err
}

// calls are what of the disk may fail, and how.
var calls = []struct {
	inject string
	first  int // the calls before it write the lock's content, which may be missing
	why    string
}{
	{"pwrite64:error=ENOSPC", 2, "the disk is full at one write"},
	{"fdatasync:error=EIO", 1, "the card does not answer one sync of data"},
	{"fsync:error=EIO", 1, "the card does not answer one sync of a file or folder"},
	{"/^ftruncate:error=ENOSPC", 2, "a file cannot grow once"},
	{"renameat:error=EIO", 1, "a name cannot be changed once"},
}

// A store whose disk fails once, at whichever call, says so, loses nothing and
// goes on without being opened again.
func TestOneFailingCall(t *testing.T) {
	const steps = 10 // the first window is packed at the ninth
	for _, c := range calls {
		t.Run(c.inject, func(t *testing.T) {
			tried, hit := 0, 0
			for n := c.first; ; n = after(n) {
				dir := folder(t)
				told, refused, err := suffer(t, dir, fmt.Sprintf("%s:when=%d", c.inject, n), steps)
				if err != nil {
					t.Fatalf("%s, call %d: writer: %v", c.why, n, err)
				}
				tried++
				if refused == 0 {
					break // fewer calls than n
				}
				hit++
				if told["book"] != steps || told["ids"] != steps {
					t.Fatalf("%s, call %d: the script stopped at %v", c.why, n, told)
				}
				if err := told.kept(dir); err != nil {
					t.Fatalf("%s, call %d: %v", c.why, n, err)
				}
			}
			t.Logf("%d runs, %d with a refusal", tried, hit)
			if hit == 0 {
				t.Error("no call failed: nothing was tested")
			}
		})
	}
}

// after gives the next call to fail: each of the first, which make the files,
// then some.
func after(n int) int {
	if n < 16 && sampled == 1 {
		return n + 1
	}
	return n + 7
}

// A store whose process is killed at whichever write keeps what it told.
func TestKilledWhileWriting(t *testing.T) {
	for n := 1; n < 120; n = after(n) {
		dir := folder(t)
		told, _, err := suffer(t, dir, fmt.Sprintf("pwrite64:signal=KILL:when=%d", n), 8)
		if err == nil {
			t.Fatalf("write %d: the writer was not killed", n)
		}
		if err := told.kept(dir); err != nil {
			t.Fatalf("killed at write %d: %v", n, err)
		}
		if left, err := filepath.Glob(filepath.Join(dir, "*.new")); err != nil || len(left) > 1 {
			t.Fatalf("killed at write %d: left %v, %v", n, left, err)
		}
	}
}
