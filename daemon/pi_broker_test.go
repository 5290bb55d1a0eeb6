package daemon_test

import (
	"bufio"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// A heard is one message that came to the keeper.
type heard struct {
	at             time.Time
	topic, payload string
	retained       bool
}

// An ear is mosquitto_sub in a session that outlives the broker: QoS 1, so
// that nothing told while either is away is lost.
type ear struct {
	t testing.TB

	mu   sync.Mutex
	all  []heard
	more chan struct{} // a message came
}

// listen returns when the broker has accepted the subscription.
func (h *hub) listen(topic string) *ear {
	h.t.Helper()
	cmd := exec.Command(program(h.t, "stdbuf", "coreutils"), "-oL", // it tells by the line what it hears
		mosquitto(h.t, "mosquitto_sub"), "-d", "-h", "127.0.0.1", "-p", h.port, "-q", "1",
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
