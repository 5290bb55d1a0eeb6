package daemon_test

import (
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

var stopped = flag.Bool("stopped", false, "stop a daemon for as long as it takes to be missed: two minutes")

// watched runs deploy/watch-status against the hub, as cron would elsewhere.
func (h *hub) watched() (said string, well bool) {
	h.t.Helper()
	cmd := exec.Command("../deploy/watch-status", "127.0.0.1", "home", "-p", h.port)
	cmd.Env = append(os.Environ(), "PATH="+os.Getenv("PATH")+":"+filepath.Dir(mosquitto(h.t, "mosquitto_sub")))
	out, err := cmd.CombinedOutput()
	if exit, ok := errors.AsType[*exec.ExitError](err); err != nil && (!ok || exit.ExitCode() != 1) {
		h.t.Fatalf("watch-status: %v\n%s", err, out)
	}
	return strings.TrimSpace(string(out)), err == nil
}

// retain leaves a status on the hub.
func (h *hub) retain(payload string) {
	h.t.Helper()
	args := []string{"-h", "127.0.0.1", "-p", h.port, "-q", "1", "-r", "-t", "clutchd/home/status"}
	if payload == "" {
		args = append(args, "-n")
	} else {
		args = append(args, "-m", payload)
	}
	if out, err := exec.Command(mosquitto(h.t, "mosquitto_pub"), args...).CombinedOutput(); err != nil {
		h.t.Fatalf("mosquitto_pub: %v\n%s", err, out)
	}
}

func TestWatchStatus(t *testing.T) {
	program(t, "sh", "a shell")
	h := newHub(t)
	stamp := func(in time.Duration) string { return time.Now().Add(in).UTC().Format(time.RFC3339Nano) }
	for _, row := range []struct {
		name, status string
		well         bool
		says         string
	}{
		{
			"calm: a next sign of life is to come",
			fmt.Sprintf(`{"status":"online","since":%q,"next":%q}`, stamp(-time.Hour), stamp(40*time.Second)), true, "",
		},
		{
			"a sign that is a little late", fmt.Sprintf(`{"status":"online","since":%q,"next":%q}`,
				stamp(-time.Hour), stamp(-20*time.Second)), true, "",
		},
		{
			"silence: the sign did not come", fmt.Sprintf(`{"status":"online","since":%q,"next":%q}`,
				stamp(-time.Hour), stamp(-10*time.Minute)), false, "fallen silent: its next sign of life was due 6",
		},
		{"the last will", `{"status":"offline"}`, false, "does not watch"},
		{"a clean stop", fmt.Sprintf(`{"status":"offline","since":%q}`, stamp(0)), false, "does not watch"},
		{"a clock that is not set", `{"status":"online"}`, false, "clock is not set"},
		{"something that is no status", `hello`, false, "does not watch"},
	} {
		h.retain(row.status)
		said, well := h.watched()
		if well != row.well || !strings.Contains(said, row.says) || well != (said == "") {
			t.Errorf("%s: well %v, it says %q, want %v, %q", row.name, well, said, row.well, row.says)
		}
	}
	h.stop()
	if said, well := h.watched(); well || !strings.Contains(said, "no status at 127.0.0.1") {
		t.Errorf("without a broker: well %v, it says %q", well, said)
	}
}

// TestSilenceIsNotCalm has the built program killed, and with -stopped brought
// to a standstill, and whoever watches it from elsewhere tell.
func TestSilenceIsNotCalm(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program and runs it in real time")
	}
	t.Parallel()
	h := newHub(t)
	folder := t.TempDir()
	conf := filepath.Join(folder, "clutchd.toml")
	text := fmt.Sprintf("state_folder = %q\nzone = \"UTC\"\nclock = \"system\"\n[web]\nlisten = \"127.0.0.1:0\"\n"+
		"[broker]\nlisten = \"\"\n[kernel]\noff = true\n[[mqtt]]\nname = \"house\"\nurl = \"mqtt://127.0.0.1:%s\"\n", folder, h.port)
	if err := os.WriteFile(conf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	clutchd := buildProgram(t)
	deaths := map[string]syscall.Signal{"killed": syscall.SIGKILL}
	if *stopped {
		deaths["stopped"] = syscall.SIGSTOP
	}
	for name, signal := range deaths {
		v := startVictim(t, exec.Command(clutchd, "run", "-config", conf), "running:")
		v.await(t)
		h.until(t, name+": it watches", true)
		began := time.Now()
		if err := v.cmd.Process.Signal(signal); err != nil {
			t.Fatal(err)
		}
		said := h.until(t, name+": it is missed", false)
		t.Logf("%s: missed after %v: %s", name, time.Since(began).Round(time.Second), said)
		if signal == syscall.SIGSTOP {
			_ = v.cmd.Process.Signal(syscall.SIGCONT)
			t.Logf("goes on: %s", h.until(t, "it goes on: it watches again", true))
		}
		v.end(syscall.SIGKILL)
	}
}

// until asks again and again until watch-status says that all is well, or that
// it is not.
func (h *hub) until(t *testing.T, what string, well bool) string {
	t.Helper()
	for began := time.Now(); time.Since(began) < 3*time.Minute; time.Sleep(200 * time.Millisecond) {
		if said, now := h.watched(); now == well {
			return said
		}
	}
	t.Fatalf("%s: not in three minutes", what)
	return ""
}
