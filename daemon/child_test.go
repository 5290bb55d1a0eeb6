package daemon_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"os/signal"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
)

// childEnv holds the orders of a daemon that runs in a process of its own, so
// that it can be killed: this test program is then that daemon.
const childEnv = "CLUTCHD_TEST_CHILD"

func TestMain(m *testing.M) {
	if text := os.Getenv(childEnv); text != "" {
		if err := runChild(text); err != nil {
			fmt.Println("ended", err)
		}
		return
	}
	if text := os.Getenv(posterEnv); text != "" {
		if err := runPoster(text); err != nil {
			fmt.Println("ended", err)
		}
		return
	}
	m.Run()
}

// orders are what a child is told.
type orders struct {
	Config config.Config
	// Begun is when its room's time began; it goes childSpeed times as fast.
	Begun time.Time
}

// A child lives a tick of ten seconds in a twentieth of one.
const (
	childBeat  = 50 * time.Millisecond
	childSpeed = int64(beatRoom / childBeat)
)

func runChild(text string) error {
	var o orders
	if err := json.Unmarshal([]byte(text), &o); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	return daemon.Run(ctx, daemon.Settings{
		Config: o.Config, Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn})),
		Sampler: swinging{}, Tick: childBeat,
		Clock: func() monitor.Instant {
			now := roomTime(o.Begun)
			return monitor.Instant{Wall: now, Trusted: true, Boot: "child", Elapsed: now.Sub(o.Begun)}
		},
		Ready: func(daemon.Addresses) { fmt.Println("ready") },
	})
}

func roomTime(begun time.Time) time.Time {
	return begun.Add(time.Since(begun) * time.Duration(childSpeed)).Round(0).UTC()
}

// swinging is a room of boxes, each of which is deadly hot for half of every
// swing. It says on stdout what it has read.
type swinging struct{}

const (
	swing = 16 * time.Minute
	boxes = 4
)

func (swinging) Probes() (out []sensors.Probe) {
	for i := range boxes {
		out = append(out, sensors.Probe{
			ID: fmt.Sprintf("p%d", i), Model: "test",
			Has: incubation.Temperature, Interval: beatRoom, Accuracy: 0.2,
		})
	}
	return out
}

func (s swinging) Sample(_ context.Context, now time.Time) (out []sensors.Outcome) {
	for i, p := range s.Probes() {
		celsius := incubation.Celsius(28)
		if now.Add(time.Duration(i)*swing/boxes).Sub(time.Unix(0, 0))%swing < swing/2 {
			celsius = 39
		}
		out = append(out, sensors.Outcome{Probe: p.ID, Time: now, Reading: incubation.Reading{
			Probe: p.ID, Time: now, Has: incubation.Temperature, Celsius: celsius,
		}})
	}
	fmt.Println("read", now.Format(time.RFC3339Nano))
	return out
}

// A victim is a process that is to be killed. It says on stdout when it is
// ready, and perhaps when it reads.
type victim struct {
	cmd   *exec.Cmd
	ready chan struct{} // closed when it is
	over  chan struct{} // closed when it has ended and all it said was heard

	mu   sync.Mutex
	read time.Time // newest
	said []string
}

// start starts a process; mark is in the line that says that it is ready.
func startVictim(t *testing.T, cmd *exec.Cmd, mark string) *victim {
	t.Helper()
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stderr = cmd.Stdout
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	v := &victim{cmd: cmd, ready: make(chan struct{}), over: make(chan struct{})}
	go func() {
		v.listen(out, mark)
		_ = cmd.Wait()
		close(v.over)
	}()
	t.Cleanup(func() { v.end(syscall.SIGKILL) })
	return v
}

func (v *victim) listen(out io.Reader, mark string) {
	lines, once := bufio.NewScanner(out), sync.OnceFunc(func() { close(v.ready) })
	for lines.Scan() {
		if strings.Contains(lines.Text(), mark) {
			once()
		}
		v.mu.Lock()
		if at, ok := strings.CutPrefix(lines.Text(), "read "); ok {
			v.read, _ = time.Parse(time.RFC3339Nano, at)
		} else {
			v.said = append(v.said, lines.Text())
		}
		v.mu.Unlock()
	}
}

// await returns when it is ready, and fails the test when it ends before.
func (v *victim) await(t *testing.T) {
	t.Helper()
	select {
	case <-v.ready:
		return
	case <-v.over:
	case <-time.After(patience):
	}
	t.Fatalf("it did not start:\n%s", v.words())
}

// end sends a signal and returns when the process is no more.
func (v *victim) end(sig syscall.Signal) {
	_ = v.cmd.Process.Signal(sig)
	<-v.over
}

func (v *victim) words() string {
	v.mu.Lock()
	defer v.mu.Unlock()
	return strings.Join(v.said, "\n")
}

// lastRead is the newest time it said that it had read at.
func (v *victim) lastRead() time.Time {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.read
}
