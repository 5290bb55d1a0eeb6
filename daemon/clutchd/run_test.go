package main

import (
	"bufio"
	"bytes"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A running is a daemon in a process of its own.
type running struct {
	cmd    *exec.Cmd
	stdout *bufio.Scanner
	stderr *bytes.Buffer
}

// start starts the program in a folder of its own; that is what a machine
// without any config is.
func start(t *testing.T, home string, args ...string) *running {
	t.Helper()
	cmd := exec.Command("clutchd", args...)
	cmd.Dir, cmd.Env = home, environment(home)
	r := &running{cmd: cmd, stderr: new(bytes.Buffer)}
	cmd.Stderr = r.stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	r.stdout = bufio.NewScanner(out)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	return r
}

func environment(home string) []string {
	return append(os.Environ(), "HOME="+home, "XDG_STATE_HOME="+filepath.Join(home, "state"),
		"STATE_DIRECTORY=")
}

// address gives the address that the daemon says its pages are at.
func (r *running) address(t *testing.T) string {
	t.Helper()
	for r.stdout.Scan() {
		if _, at, found := strings.Cut(r.stdout.Text(), "http://"); found {
			return "http://" + strings.Fields(at)[0]
		}
	}
	_ = r.cmd.Wait()
	t.Fatalf("the daemon ended without an address:\n%s", r.stderr)
	return ""
}

// stop ends the daemon as systemd does, and gives its exit status and how long
// it took.
func (r *running) stop(t *testing.T) (status int, took time.Duration) {
	t.Helper()
	began := time.Now()
	if err := r.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	for r.stdout.Scan() { // to its end, so that Wait may close it
	}
	_ = r.cmd.Wait() // the status says it
	return r.cmd.ProcessState.ExitCode(), time.Since(began)
}

// call runs one command beside a daemon.
func call(t *testing.T, home string, args ...string) string {
	t.Helper()
	cmd := exec.Command("clutchd", args...)
	cmd.Dir, cmd.Env = home, environment(home)
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("clutchd %q: %v\n%s", args, err, out)
	}
	return string(out)
}

func fetch(t *testing.T, url string) string {
	t.Helper()
	resp, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	text, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("GET %s: %s, %v", url, resp.Status, err)
	}
	return string(text)
}

// stopWithin is how long systemd's default, less a margin, lets a service take
// on a busy machine; what is asserted is that it does not hang.
const stopWithin = 5 * time.Second

// Probes are read, told and stored until the very end: what a page showed
// before SIGTERM is in the history after it.
func TestRunStoresWhatItRead(t *testing.T) {
	t.Parallel()
	home := t.TempDir()
	root, err := filepath.Abs("../../testdata/sys/pi-tmp105")
	if err != nil {
		t.Fatal(err)
	}
	config := "clock = \"system\"\n" +
		"[web]\nlisten = \"127.0.0.1:0\"\n[broker]\nlisten = \"127.0.0.1:0\"\n" +
		"[kernel]\ninterval_seconds = 1\nroot = \"" + root + "\"\n"
	if err := os.WriteFile(filepath.Join(home, "room.toml"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	d := start(t, home, "run", "-config", "room.toml")
	page := d.address(t)
	if text := fetch(t, page+"healthz"); text == "" {
		t.Error("the daemon says nothing of its health")
	}
	const probe = "hwmon-tmp105-1-0048"
	if !eventually(func() bool {
		return strings.Contains(call(t, home, "probes", "-config", "room.toml"), "31.50 °C")
	}) {
		t.Fatalf("the probe never spoke:\n%s", call(t, home, "probes", "-config", "room.toml"))
	}
	if text := fetch(t, page); !strings.Contains(text, probe) {
		t.Errorf("the page does not name the probe that waits for a place:\n%s", text)
	}
	if status, took := d.stop(t); status != 0 || took > stopWithin {
		t.Errorf("after SIGTERM: status %d in %v, want 0 within %v\n%s", status, took, stopWithin,
			d.stderr)
	}
	call(t, home, "export", "-config", "room.toml", "out")
	text, err := os.ReadFile(filepath.Join(home, "out", "readings-"+probe+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), ",31.5,,good\n") {
		t.Errorf("what was read is not stored:\n%s", text)
	}
}

// A second room on an address that is taken ends with two lines, and lets go of
// its folder.
func TestRunOnATakenAddress(t *testing.T) {
	t.Parallel()
	home := t.TempDir()
	room := func(name, listen string) {
		text := "state_folder = \"" + filepath.Join(home, name) + "\"\n[web]\nlisten = \"" + listen +
			"\"\n[broker]\nlisten = \"\"\n[kernel]\noff = true\n"
		if err := os.WriteFile(filepath.Join(home, name+".toml"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	room("first", "127.0.0.1:0")
	d := start(t, home, "run", "-config", "first.toml")
	at := strings.TrimSuffix(strings.TrimPrefix(d.address(t), "http://"), "/")
	room("second", at)
	cmd := exec.Command("clutchd", "run", "-config", "second.toml")
	cmd.Dir, cmd.Env = home, environment(home)
	out, _ := cmd.CombinedOutput() // the status says it
	want := "clutchd: serve pages on " + at + ": listen tcp " + at +
		": bind: address already in use\n" +
		"another program has that address: stop it, or name another in the config\n"
	if cmd.ProcessState.ExitCode() != 1 || !strings.HasSuffix(string(out), want) {
		t.Errorf("status %d, says:\n%s\nwant at its end:\n%s", cmd.ProcessState.ExitCode(), out, want)
	}
	call(t, home, "export", "-config", "second.toml", "out")
	if status, _ := d.stop(t); status != 0 {
		t.Errorf("the first ends with status %d", status)
	}
}

// Without any config, and with nothing to read, the pages are there at the
// address that the README names. Another program may hold that address on the
// machine that tests run on: then the daemon must say so in two lines.
func TestRunWithoutConfig(t *testing.T) {
	t.Parallel()
	home := t.TempDir()
	d := start(t, home, "run")
	if !d.stdout.Scan() {
		_ = d.cmd.Wait()
		said := strings.TrimSpace(d.stderr.String())
		lines := strings.Split(said, "\n")
		if d.cmd.ProcessState.ExitCode() != 1 || !strings.Contains(said, "address already in use") ||
			!strings.Contains(lines[len(lines)-1], "another program has that address") {
			t.Fatalf("the daemon does not start: status %d\n%s", d.cmd.ProcessState.ExitCode(), said)
		}
		t.Skip("another program has 127.0.0.1:8080 or :1883: stop it to test a start without a config")
	}
	if got, want := d.stdout.Text(), "running: http://127.0.0.1:8080/"; got != want {
		t.Errorf("the daemon says %q, want %q", got, want)
	}
	if text := fetch(t, "http://127.0.0.1:8080/"); !strings.Contains(text, "<html") {
		t.Errorf("that is no page:\n%s", text)
	}
	if status, took := d.stop(t); status != 0 || took > stopWithin {
		t.Errorf("after SIGTERM: status %d in %v, want 0 within %v\n%s", status, took, stopWithin,
			d.stderr)
	}
	if _, err := os.Stat(filepath.Join(home, "state", "clutchd", "book.db")); err != nil {
		t.Errorf("the state is not in the user's state folder: %v", err)
	}
}
