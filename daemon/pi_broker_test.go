package daemon_test

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// piPeer finds a program that the test talks to, or skips the test.
func piPeer(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		path, err = exec.LookPath("/usr/sbin/" + name)
	}
	if err == nil {
		return path
	}
	const hint = "install mosquitto and mosquitto-clients to run this test"
	if os.Getenv("CLUTCHD_PEERS") == "required" {
		t.Fatalf("%s is not here: %s", name, hint)
	}
	t.Skipf("%s is not here: %s", name, hint)
	return ""
}

// A house is the broker in the house, a mosquitto that keeps the sessions of
// those who are away.
type house struct {
	t          *testing.T
	conf, port string
	cmd        *exec.Cmd
}

func newHouse(t *testing.T) *house {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	l.Close()
	folder := t.TempDir()
	h := &house{t: t, conf: filepath.Join(folder, "conf"), port: port}
	conf := fmt.Sprintf("listener %s 127.0.0.1\nallow_anonymous true\n"+
		"persistence true\npersistence_location %s/\n", port, folder)
	if os.Geteuid() == 0 {
		conf += "user root\n" // else it could not read the folder
	}
	if err := os.WriteFile(h.conf, []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	h.start()
	t.Cleanup(h.stop)
	return h
}

// start returns when the broker says that it runs.
func (h *house) start() {
	h.t.Helper()
	h.cmd = exec.Command(piPeer(h.t, "mosquitto"), "-v", "-c", h.conf)
	out, err := h.cmd.StderrPipe()
	if err != nil {
		h.t.Fatal(err)
	}
	if err := h.cmd.Start(); err != nil {
		h.t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.Contains(lines.Text(), " running") {
			go func() {
				for lines.Scan() { // or its pipe would fill
				}
			}()
			return
		}
	}
	h.t.Fatal("mosquitto ended before it ran")
}

// stop ends the broker; it writes its sessions down first.
func (h *house) stop() {
	_ = h.cmd.Process.Signal(syscall.SIGTERM)
	_ = h.cmd.Wait()
}

// say publishes as anybody in the house may.
func (h *house) say(topic, payload string) {
	h.t.Helper()
	args := []string{"-h", "127.0.0.1", "-p", h.port, "-q", "1", "-t", topic, "-m", payload}
	if said, err := exec.Command(piPeer(h.t, "mosquitto_pub"), args...).CombinedOutput(); err != nil {
		h.t.Fatalf("mosquitto_pub: %v\n%s", err, said)
	}
}

// A heard is one message that came to the keeper.
type heard struct {
	at             time.Time
	topic, payload string
	retained       bool
}

// An ear is mosquitto_sub in a session that outlives the broker: QoS 1, so
// that nothing told while either is away is lost.
type ear struct {
	t *testing.T

	mu   sync.Mutex
	all  []heard
	more chan struct{} // a message came
}

// listen returns when the broker has accepted the subscription.
func (h *house) listen(topic string) *ear {
	h.t.Helper()
	cmd := exec.Command(piPeer(h.t, "stdbuf"), "-oL", // it tells by the line what it hears
		piPeer(h.t, "mosquitto_sub"), "-d", "-h", "127.0.0.1", "-p", h.port, "-q", "1",
		"-c", "-i", "keeper", "-t", topic, "-F", "heard %r %t %p")
	out, err := cmd.StdoutPipe()
	if err != nil {
		h.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		h.t.Fatal(err)
	}
	e := &ear{t: h.t, more: make(chan struct{}, 1)}
	subscribed, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		e.hear(bufio.NewScanner(out), subscribed)
	}()
	h.t.Cleanup(func() {
		_ = cmd.Process.Kill()
		<-done
		_ = cmd.Wait()
	})
	select {
	case <-subscribed:
	case <-done:
		h.t.Fatal("mosquitto_sub ended before it had subscribed")
	}
	return e
}

func (e *ear) hear(lines *bufio.Scanner, subscribed chan<- struct{}) {
	var once sync.Once
	for lines.Scan() {
		if strings.Contains(lines.Text(), "Subscribed") {
			once.Do(func() { close(subscribed) })
		}
		text, ok := strings.CutPrefix(lines.Text(), "heard ")
		if !ok {
			continue
		}
		m := heard{at: time.Now()}
		retained, text, _ := strings.Cut(text, " ")
		m.retained = retained == "1"
		m.topic, m.payload, _ = strings.Cut(text, " ")
		e.mu.Lock()
		e.all = append(e.all, m)
		e.mu.Unlock()
		select {
		case e.more <- struct{}{}:
		default:
		}
	}
}

// after gives what came on topics that begin so, at or after a time; a zero
// time gives all.
func (e *ear) after(since time.Time, topic string) []heard {
	e.mu.Lock()
	defer e.mu.Unlock()
	all := slices.Clone(e.all)
	return slices.DeleteFunc(all, func(m heard) bool {
		return m.at.Before(since) || !strings.HasPrefix(m.topic, topic)
	})
}

// hearing is how long any message may take to come: two ticks where all is
// well; more than the pause between two tries at a broker that was away.
const hearing = 90 * time.Second

// await gives the first message after since that satisfies is, and waits for
// it.
func (e *ear) await(since time.Time, topic string, is func(payload string) bool) heard {
	e.t.Helper()
	late := time.NewTimer(hearing)
	defer late.Stop()
	for {
		came := e.after(since, topic)
		if i := slices.IndexFunc(came, func(m heard) bool { return is(m.payload) }); i >= 0 {
			return came[i]
		}
		select {
		case <-e.more:
		case <-late.C:
			e.t.Fatalf("%s: not what was waited for within %s, but %v", topic, hearing, came)
		}
	}
}
