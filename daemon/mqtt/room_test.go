package mqtt_test

import (
	"context"
	"encoding/json"
	"log/slog"
	"net"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

// These tests talk to the broker of a real room, over real connections and in
// real time; nothing in them asks how long something took.

func noticeID(t *testing.T, payload string) uint64 {
	t.Helper()
	validate(t, "notice", payload)
	var n mqtt.Notice
	if err := json.Unmarshal([]byte(payload), &n); err != nil {
		t.Fatal(err)
	}
	return n.ID
}

func TestRealRoom(t *testing.T) {
	m := newMosquitto(t, openACL+"user clutchd\ntopic read shed/shelf\n")
	l := m.listen("clutchd/cellar/#")
	outcomes, commands := make(chan sensors.Outcome, 1), make(chan monitor.Change, 1)
	c := m.run(m.broker(), mqtt.Options{
		Devices: []mqttin.Device{{
			ProbeID: "shelf", Topic: "shed/shelf", Pointer: "/t", Interval: time.Minute,
		}},
		OnOutcome: func(o sensors.Outcome) { outcomes <- o },
		OnCommand: func(ch monitor.Change) error { commands <- ch; return nil },
	})
	c.State(t.Context(), room())
	_, payload := l.until(func(topic, _ string) bool { return topic == statusTopic })
	validate(t, "status", payload)
	if err := c.Publish(t.Context(), notice(5)); err != nil {
		t.Fatal(err)
	}
	_, payload = l.until(func(topic, _ string) bool { return topic == noticeTopic })
	if id := noticeID(t, payload); id != 5 {
		t.Errorf("heard notice %d, want 5", id)
	}
	m.publishUntil(outcomes, "shed/shelf", `{"t":28.4}`)
	m.publishUntil(commands, "clutchd/cellar/command/alert/x",
		`{"do":"acknowledge","occurrence":"o-1"}`)
}

// publishUntil publishes as the keeper, again and again, until the client that
// may not have subscribed yet has heard it.
func (m *mosquitto) publishUntil(heard any, topic, payload string) {
	m.t.Helper()
	host, port, _ := net.SplitHostPort(m.addr)
	for {
		out, err := exec.Command(peer(m.t, "mosquitto_pub"), "-h", host, "-p", port, "-u", "keeper",
			"-P", "keeper-secret", "-q", "1", "-t", topic, "-m", payload).CombinedOutput()
		if err != nil {
			m.t.Fatalf("mosquitto_pub: %v\n%s", err, out)
		}
		switch ch := heard.(type) {
		case chan sensors.Outcome:
			if tried(ch) {
				return
			}
		case chan monitor.Change:
			if tried(ch) {
				return
			}
		}
	}
}

func tried[T any](ch chan T) bool {
	select {
	case <-ch:
		return true
	case <-time.After(100 * time.Millisecond):
		return false
	}
}

func TestWrongPassword(t *testing.T) {
	m := newMosquitto(t, openACL)
	m.write("wrong", "guess")
	b := m.broker()
	b.PasswordFile = m.path("wrong")
	c := m.run(b, mqtt.Options{})
	if passed, err := hopsPassed(c.Trial(t.Context(), notice(1))); passed != 1 || err == nil {
		t.Errorf("%d hops passed, then %v; want to be refused when connecting", passed, err)
	}
}

// A broker confirms what its access list then throws away: Publish cannot see
// it, a trial does.
func TestAccessListDenies(t *testing.T) {
	m := newMosquitto(t, "user clutchd\ntopic readwrite clutchd/cellar/status\n"+
		"topic read clutchd/cellar/notice\nuser keeper\ntopic readwrite #\n")
	l := m.listen("clutchd/cellar/#")
	c := m.run(m.broker(), mqtt.Options{})
	if err := c.Publish(t.Context(), notice(1)); err != nil {
		t.Fatalf("this broker confirms denied messages, but: %v", err)
	}
	c.State(t.Context(), room())
	if topic, _ := l.next(); topic != statusTopic {
		t.Errorf("heard %s, want nothing before the status", topic)
	}
	passed, err := hopsPassed(c.Trial(t.Context(), notice(2)))
	if passed != 4 || err == nil || !strings.Contains(err.Error(), "access list") {
		t.Errorf("%d hops passed, then %v; want a confirmed message that was not delivered", passed, err)
	}
}

// The broker goes, notices gather, the broker starts again: they all arrive,
// in order.
func TestBrokerComesBack(t *testing.T) {
	m := newMosquitto(t, openACL)
	durable := []string{"-c", "-i", "phone"}
	m.listen(noticeTopic, durable...).stop()
	c := m.run(m.broker(), mqtt.Options{})
	outbox := alerts.NewOutbox(nil, nil, never{}, slog.New(slog.DiscardHandler))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- outbox.Run(ctx, c) }()
	m.stop(syscall.SIGTERM)
	outbox.Post(notice(1), notice(2))
	m.start()
	outbox.Post(notice(3))
	l := m.listen(noticeTopic, durable...)
	for newest := uint64(0); newest < 3; {
		_, payload := l.next()
		switch id := noticeID(t, payload); id {
		case newest: // a double
		case newest + 1:
			newest++
		default:
			t.Fatalf("notice %d came after %d", id, newest)
		}
	}
	cancel()
	if err := <-done; err != nil {
		t.Error(err)
	}
}

// What the broker confirmed, it keeps over its own restart for a listener that
// was away.
func TestBrokerPersists(t *testing.T) {
	m := newMosquitto(t, openACL)
	durable := []string{"-c", "-i", "phone"}
	m.listen(noticeTopic, durable...).stop()
	c := m.run(m.broker(), mqtt.Options{})
	for id := range uint64(3) {
		if err := c.Publish(t.Context(), notice(id+1)); err != nil {
			t.Fatal(err)
		}
	}
	m.stop(syscall.SIGTERM)
	m.start()
	l := m.listen(noticeTopic, durable...)
	for id := range uint64(3) {
		if _, payload := l.next(); noticeID(t, payload) != id+1 {
			t.Errorf("heard %s, want notice %d", payload, id+1)
		}
	}
}

// helperEnv makes the test program a daemon that can be killed: it holds the
// broker's address and the secret's file.
const helperEnv = "CLUTCHD_TEST_DAEMON"

func TestMain(m *testing.M) {
	if addr, secret, ok := strings.Cut(os.Getenv(helperEnv), " "); ok {
		toBeKilled(addr, secret)
		return
	}
	m.Run()
}

func toBeKilled(addr, secret string) {
	c, err := mqtt.New(asDaemon(addr, secret), mqtt.Options{Site: "cellar", Host: "pi"})
	if err != nil {
		panic(err)
	}
	c.State(context.Background(), room())
	_ = c.Run(context.Background())
}

func TestLastWillOfAKilledDaemon(t *testing.T) {
	m := newMosquitto(t, openACL)
	l := m.listen(statusTopic)
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), helperEnv+"="+m.addr+" "+m.path("secret"))
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	defer child.Wait()
	defer child.Process.Kill()
	if _, payload := l.next(); !strings.Contains(payload, mqtt.Online) {
		t.Fatalf("heard %s, want online", payload)
	}
	child.Process.Kill()
	if _, payload := l.next(); payload != `{"status":"offline"}` {
		t.Errorf("heard %s, want offline from the last will", payload)
	}
	late := m.listen(statusTopic)
	if _, payload := late.next(); payload != `{"status":"offline"}` {
		t.Errorf("a later listener heard %s, want the kept offline", payload)
	}
}
