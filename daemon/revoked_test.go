package daemon_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A broker that no longer takes our password gets what it missed once it does
// again; meanwhile the others get everything at once.
func TestPasswordRevokedForAWhile(t *testing.T) {
	if testing.Short() {
		t.Skip("some seconds of real time")
	}
	t.Parallel()
	folder := t.TempDir()
	passwords := filepath.Join(folder, "passwords")
	give := func(password string, args ...string) {
		args = append(args, "-b", passwords, "clutchd", password)
		if said, err := exec.Command(mosquitto(t, "mosquitto_passwd"), args...).CombinedOutput(); err != nil {
			t.Fatalf("mosquitto_passwd: %v\n%s", err, said)
		}
	}
	give("good", "-c")
	w := newCourse(t, "password_file "+passwords)
	w.orders.Secret = filepath.Join(folder, "secret")
	if err := os.WriteFile(w.orders.Secret, []byte("good\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	v := w.start()
	w.await(v, "some notices", func(posted, _ int) bool { return posted >= 10 })
	w.arrived(w.newest(v))

	give("another")
	house := w.hubs[0]
	_ = house.cmd.Process.Signal(syscall.SIGHUP)
	w.await(v, "word that the house does not take it", func(posted, _ int) bool {
		w.proxies[0].cut(true) // the broker asks for the password when connecting
		return strings.Contains(v.words(), "it does not let this user in")
	})
	revoked := time.Now()
	missed := w.newest(v)
	w.phones[1].await("a notice elsewhere", isNotice(missed))
	all, _ := w.phones[0].heard()
	for _, m := range all {
		if isNotice(missed)(m) {
			t.Errorf("notice %d reached the broker that does not know us", missed)
		}
	}

	give("good")
	_ = house.cmd.Process.Signal(syscall.SIGHUP)
	w.phones[0].await("what the house missed", isNotice(missed))
	t.Logf("shut out for %s", time.Since(revoked).Round(10*time.Millisecond))
	v.end(syscall.SIGKILL)
	w.autopsy(v)
	w.drain()
	w.check(1)
}
