package mqtt_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"clutchd/daemon/mqtt"
)

// peer finds a program that the test talks to, or skips the test.
func peer(t *testing.T, name string) string {
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

// A mosquitto is the real broker, in a folder of its own.
type mosquitto struct {
	t    *testing.T
	dir  string
	addr string
	cmd  *exec.Cmd
}

// newMosquitto starts a broker with passwords for clutchd and keeper, the
// access list, and further configuration lines.
func newMosquitto(t *testing.T, acl string, more ...string) *mosquitto {
	t.Helper()
	peer(t, "mosquitto")
	m := &mosquitto{t: t, dir: t.TempDir(), addr: freeAddr(t)}
	users := map[string]string{"clutchd": "daemon-secret", "keeper": "keeper-secret"}
	for user, password := range users {
		args := []string{"-b", m.path("passwords"), user, password}
		if _, err := os.Stat(m.path("passwords")); err != nil {
			args = append([]string{"-c"}, args...)
		}
		if out, err := exec.Command(peer(t, "mosquitto_passwd"), args...).CombinedOutput(); err != nil {
			t.Fatalf("mosquitto_passwd: %v\n%s", err, out)
		}
	}
	m.write("secret", "daemon-secret\n")
	m.write("acl", acl)
	_, port, _ := net.SplitHostPort(m.addr)
	lines := append([]string{
		"listener " + port + " 127.0.0.1", "allow_anonymous false",
		"password_file " + m.path("passwords"), "acl_file " + m.path("acl"),
		"persistence true", "persistence_location " + m.dir + "/",
	}, more...)
	if os.Geteuid() == 0 {
		lines = append(lines, "user root") // else it could not read the folder
	}
	m.write("conf", strings.Join(lines, "\n")+"\n")
	m.start()
	t.Cleanup(func() { m.stop(syscall.SIGKILL) })
	return m
}

const openACL = "user clutchd\ntopic readwrite clutchd/cellar/#\nuser keeper\ntopic readwrite #\n"

func (m *mosquitto) path(name string) string { return filepath.Join(m.dir, name) }

func (m *mosquitto) write(name, text string) {
	m.t.Helper()
	if err := os.WriteFile(m.path(name), []byte(text), 0o600); err != nil {
		m.t.Fatal(err)
	}
}

// start returns when the broker says that it runs.
func (m *mosquitto) start() {
	m.t.Helper()
	m.cmd = exec.Command(peer(m.t, "mosquitto"), "-v", "-c", m.path("conf"))
	out, err := m.cmd.StderrPipe()
	if err != nil {
		m.t.Fatal(err)
	}
	m.cmd.Stdout = m.cmd.Stderr
	if err := m.cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	said := readUntil(out, " running")
	if !strings.Contains(said, " running") {
		m.t.Fatalf("mosquitto did not start:\n%s", said)
	}
	go io.Copy(io.Discard, out)
}

func (m *mosquitto) stop(sig syscall.Signal) {
	_ = m.cmd.Process.Signal(sig)
	_ = m.cmd.Wait()
}

func (m *mosquitto) broker() mqtt.Broker {
	return asDaemon(m.addr, m.path("secret"))
}

func asDaemon(addr, secret string) mqtt.Broker {
	return mqtt.Broker{Name: "hub", URL: "mqtt://" + addr, User: "clutchd", PasswordFile: secret}
}

// run connects a client until the test ends.
func (m *mosquitto) run(b mqtt.Broker, o mqtt.Options) *mqtt.Client {
	m.t.Helper()
	o.Site, o.Host = "cellar", "pi"
	c, err := mqtt.New(b, o)
	if err != nil {
		m.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	m.t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			m.t.Error(err)
		}
	})
	return c
}

// A listener is mosquitto_sub as the keeper.
type listener struct {
	t     *testing.T
	cmd   *exec.Cmd
	lines *bufio.Scanner
	early []string // messages of a kept session, which come before it has subscribed
}

// listen returns when the broker has accepted the subscription.
func (m *mosquitto) listen(topic string, more ...string) *listener {
	m.t.Helper()
	host, port, _ := net.SplitHostPort(m.addr)
	args := append([]string{
		"-oL", peer(m.t, "mosquitto_sub"), // it tells by the line what it does
		"-d", "-h", host, "-p", port, "-u", "keeper", "-P", "keeper-secret",
		"-t", topic, "-q", "1", "-F", "heard %t %p",
	}, more...)
	l := &listener{t: m.t, cmd: exec.Command(peer(m.t, "stdbuf"), args...)}
	out, err := l.cmd.StdoutPipe()
	if err != nil {
		m.t.Fatal(err)
	}
	if err := l.cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	l.lines = bufio.NewScanner(out)
	m.t.Cleanup(l.stop)
	for l.lines.Scan() {
		if strings.Contains(l.lines.Text(), "Subscribed") {
			return l
		}
		if text, ok := strings.CutPrefix(l.lines.Text(), "heard "); ok {
			l.early = append(l.early, text)
		}
	}
	m.t.Fatal("mosquitto_sub ended before it had subscribed")
	return nil
}

func (l *listener) stop() {
	_ = l.cmd.Process.Kill()
	_ = l.cmd.Wait()
}

// next gives the next message, topic and payload.
func (l *listener) next() (topic, payload string) {
	l.t.Helper()
	if len(l.early) > 0 {
		topic, payload, _ = strings.Cut(l.early[0], " ")
		l.early = l.early[1:]
		return topic, payload
	}
	for l.lines.Scan() {
		if text, ok := strings.CutPrefix(l.lines.Text(), "heard "); ok {
			topic, payload, _ = strings.Cut(text, " ")
			return topic, payload
		}
	}
	l.t.Fatal("mosquitto_sub ended")
	return "", ""
}

// until reads on to a message that satisfies is.
func (l *listener) until(is func(topic, payload string) bool) (topic, payload string) {
	l.t.Helper()
	for {
		if topic, payload = l.next(); is(topic, payload) {
			return topic, payload
		}
	}
}

func readUntil(r io.Reader, mark string) string {
	var said strings.Builder
	for one := make([]byte, 1); !strings.HasSuffix(said.String(), mark); {
		if _, err := r.Read(one); err != nil {
			break
		}
		said.Write(one)
	}
	return said.String()
}

func freeAddr(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return fmt.Sprint(l.Addr())
}
