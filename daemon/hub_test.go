package daemon_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
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

// patience is how long an event is waited for, however busy the machine.
const patience = time.Minute

// program finds a program that a test talks to, or skips the test.
func program(t testing.TB, name, hint string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		path, err = exec.LookPath("/usr/sbin/" + name)
	}
	if err == nil {
		return path
	}
	if os.Getenv("CLUTCHD_PEERS") == "required" {
		t.Fatalf("%s is not here: install %s", name, hint)
	}
	t.Skipf("%s is not here: install %s to run this test", name, hint)
	return ""
}

func mosquitto(t testing.TB, name string) string {
	t.Helper()
	return program(t, name, "mosquitto and mosquitto-clients")
}

// A hub is a mosquitto that keeps its sessions over a restart.
type hub struct {
	t          testing.TB
	conf, port string
	cmd        *exec.Cmd
}

func newHub(t testing.TB, more ...string) *hub {
	t.Helper()
	folder := t.TempDir()
	h := &hub{t: t, conf: filepath.Join(folder, "conf"), port: freePort(t)}
	text := fmt.Sprintf("listener %s 127.0.0.1\nallow_anonymous true\npersistence true\n"+
		"persistence_location %s/\nmax_queued_messages 0\n", h.port, folder)
	if os.Geteuid() == 0 {
		text += "user root\n" // else it could not read the folder
	}
	for _, line := range more {
		text += line + "\n"
	}
	if err := os.WriteFile(h.conf, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	h.start()
	t.Cleanup(h.stop)
	return h
}

func freePort(t testing.TB) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

// start returns when the broker says that it runs.
func (h *hub) start() {
	h.t.Helper()
	h.cmd = exec.Command(mosquitto(h.t, "mosquitto"), "-v", "-c", h.conf)
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
			go func() { _, _ = io.Copy(io.Discard, out) }() // or its pipe would fill
			return
		}
	}
	h.t.Fatal("mosquitto ended before it ran")
}

// stop ends the broker; it writes its sessions down first.
func (h *hub) stop() {
	_ = h.cmd.Process.Signal(syscall.SIGTERM)
	_ = h.cmd.Wait()
}

// say publishes a message.
func (h *hub) say(topic, payload string) {
	h.t.Helper()
	cmd := exec.Command(mosquitto(h.t, "mosquitto_pub"), "-h", "127.0.0.1", "-p", h.port, "-q", "1", "-t", topic, "-m", payload)
	if said, err := cmd.CombinedOutput(); err != nil {
		h.t.Fatalf("mosquitto_pub: %v\n%s", err, said)
	}
}

// A told is one message that reached the keeper.
type told struct {
	topic, payload string
	at             time.Time
}

// A phone is mosquitto_sub with a session that outlives broker and connection:
// at QoS 1, nothing that the broker has taken is lost on it.
type phone struct {
	t    testing.TB
	mu   sync.Mutex
	all  []told
	more chan struct{} // closed when something comes
}

// phone returns when the broker has accepted the subscription.
func (h *hub) phone(topics ...string) *phone {
	h.t.Helper()
	args := []string{
		"-oL", mosquitto(h.t, "mosquitto_sub"), "-d", "-h", "127.0.0.1", "-p", h.port,
		"-q", "1", "-c", "-i", "keeper", "-F", "told %t %p",
	}
	for _, t := range topics {
		args = append(args, "-t", t)
	}
	cmd := exec.Command(program(h.t, "stdbuf", "coreutils"), args...) // a line at a time
	out, err := cmd.StdoutPipe()
	if err != nil {
		h.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		h.t.Fatal(err)
	}
	p := &phone{t: h.t, more: make(chan struct{})}
	ready, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		p.hear(out, sync.OnceFunc(func() { close(ready) }))
	}()
	h.t.Cleanup(func() {
		_ = cmd.Process.Kill()
		<-done
		_ = cmd.Wait()
	})
	select {
	case <-ready:
	case <-done:
		h.t.Fatal("mosquitto_sub ended before it had subscribed")
	}
	return p
}

func (p *phone) hear(out io.Reader, ready func()) {
	lines := bufio.NewScanner(out)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if strings.Contains(lines.Text(), "Subscribed") {
			ready()
		}
		text, ok := strings.CutPrefix(lines.Text(), "told ")
		if !ok {
			continue
		}
		topic, payload, _ := strings.Cut(text, " ")
		p.mu.Lock()
		p.all = append(p.all, told{topic, payload, time.Now()})
		close(p.more)
		p.more = make(chan struct{})
		p.mu.Unlock()
	}
}

// heard gives all so far, and a channel that is closed when there is more.
func (p *phone) heard() ([]told, <-chan struct{}) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.all), p.more
}

// await gives the first message, of those that came and those to come, that
// satisfies is.
func (p *phone) await(what string, is func(told) bool) told {
	p.t.Helper()
	return p.awaitWithin(patience, what, is)
}

func (p *phone) awaitWithin(patience time.Duration, what string, is func(told) bool) told {
	p.t.Helper()
	late := time.After(patience)
	for seen := 0; ; {
		all, more := p.heard()
		for ; seen < len(all); seen++ {
			if is(all[seen]) {
				return all[seen]
			}
		}
		select {
		case <-more:
		case <-late:
			p.t.Fatalf("%s: not told within %s; %d messages came", what, patience, len(all))
		}
	}
}

// A noticed is a notice as it arrived.
type noticed struct {
	ID                              uint64
	Alert, Occurrence, Rule, Reason string
	Severity                        string
	Eggs                            []string
	Value                           float64
	Since, Time                     time.Time
}

// notices gives every notice so far, in the order of arrival.
func (p *phone) notices() []noticed {
	p.t.Helper()
	all, _ := p.heard()
	var out []noticed
	for _, m := range all {
		if strings.HasSuffix(m.topic, "/notice") {
			out = append(out, p.read(m))
		}
	}
	return out
}

func (p *phone) read(m told) (n noticed) {
	p.t.Helper()
	if err := json.Unmarshal([]byte(m.payload), &n); err != nil {
		p.t.Errorf("%s %q: %v", m.topic, m.payload, err)
	}
	return n
}

// notice gives the first notice of a rule with a reason.
func (p *phone) notice(rule, reason string) noticed {
	p.t.Helper()
	return p.noticeWithin(patience, rule, reason)
}

func (p *phone) noticeWithin(patience time.Duration, rule, reason string) noticed {
	p.t.Helper()
	return p.read(p.awaitWithin(patience, rule+" "+reason, func(m told) bool {
		if !strings.HasSuffix(m.topic, "/notice") {
			return false
		}
		n := p.read(m)
		return n.Rule == rule && n.Reason == reason
	}))
}
