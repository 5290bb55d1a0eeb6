package daemon_test

import (
	"bufio"
	"encoding/binary"
	"flag"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

var (
	crowdFor = flag.Duration("crowd", 11*time.Second, "how long a crowd of probes speaks over MQTT")
	crowdOf  = flag.Int("crowd-probes", 200, "how many probes it is made of")
)

// TestCrowd has the built program hear many probes over a real broker, every
// ten seconds each, in real time: all must be heard, and none of what they say
// be dropped. Figures: go test ./daemon -run TestCrowd -v -crowd 1h -crowd-probes 5000
func TestCrowd(t *testing.T) {
	if testing.Short() {
		t.Skip("runs in real time")
	}
	t.Parallel()
	h := newHub(t)
	folder, addr := t.TempDir(), "127.0.0.1:"+freePort(t)
	conf := filepath.Join(folder, "clutchd.toml")
	var text strings.Builder
	fmt.Fprintf(&text, "state_folder = %q\nzone = \"UTC\"\nclock = \"system\"\n[web]\nlisten = %q\n[broker]\nlisten = \"\"\n"+
		"[kernel]\noff = true\n[[mqtt]]\nname = \"house\"\nurl = \"mqtt://127.0.0.1:%s\"\n", folder, addr, h.port)
	for i := range *crowdOf {
		fmt.Fprintf(&text, "[[device]]\nprobe = \"p%d\"\nbroker = \"house\"\ntopic = \"crowd/p%d\"\npointer = \"/t\"\n"+
			"interval_seconds = 10\n", i, i)
	}
	if err := os.WriteFile(conf, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	v := startVictim(t, exec.Command(buildProgram(t), "run", "-config", conf), "running:")
	v.await(t)
	pages, pid := newClient(addr), v.cmd.Process.Pid
	crowd := h.crowd(t, *crowdOf)
	var ticks []float64
	began, used, asked := time.Now(), cpuOf(t, pid), time.Now()
	for round := 0; time.Since(began) < *crowdFor; round++ {
		crowd.speak(t, round, began.Add(time.Duration(round+1)*10*time.Second))
		if time.Since(asked) > 10*time.Second {
			asked = time.Now()
			ticks = append(ticks, metric(t, pages, "clutchd_tick_duration_seconds "))
		}
	}
	lasted := time.Since(began)
	peak := resident(t, pid)
	share := (cpuOf(t, pid) - used).Seconds() / lasted.Seconds()
	var room struct {
		Probes []struct {
			ID    string
			Stale bool
			Read  time.Time
		}
	}
	if code := pages.get("/api/room", &room); code != 200 {
		t.Fatalf("the room answers %d", code)
	}
	silent := 0
	for _, p := range room.Probes {
		if p.Stale || time.Since(p.Read) > time.Minute {
			silent++
		}
	}
	if len(room.Probes) != *crowdOf || silent > 0 {
		t.Errorf("of %d probes %d are known, %d of them silent", *crowdOf, len(room.Probes), silent)
	}
	v.end(syscall.SIGTERM)
	v.mu.Lock()
	defer v.mu.Unlock()
	for _, line := range v.said {
		if strings.Contains(line, "dropped") {
			t.Errorf("it says %q", line)
		}
	}
	slices.Sort(ticks)
	if len(ticks) > 0 {
		t.Logf("%d probes for %v: tick median %.1f ms, worst %.1f ms of %d; %.1f %% of a core; %d MiB resident at most",
			*crowdOf, lasted.Round(time.Second), 1000*ticks[len(ticks)/2], 1000*ticks[len(ticks)-1], len(ticks),
			100*share, peak)
	}
}

// A crowd is one connection that publishes for all probes: MQTT 3.1.1, QoS 0.
type crowd struct {
	conn net.Conn
	out  *bufio.Writer
	n    int
}

func (h *hub) crowd(t *testing.T, n int) *crowd {
	t.Helper()
	conn, err := net.Dial("tcp", "127.0.0.1:"+h.port)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	c := &crowd{conn: conn, out: bufio.NewWriter(conn), n: n}
	hello := append([]byte{0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 0}, field("crowd")...)
	c.packet(0x10, hello)
	if err := c.out.Flush(); err != nil {
		t.Fatal(err)
	}
	answer := make([]byte, 4)
	if _, err := conn.Read(answer); err != nil || answer[3] != 0 {
		t.Fatalf("the broker answers %v, %v", answer, err)
	}
	return c
}

func field(s string) []byte {
	return append(binary.BigEndian.AppendUint16(nil, uint16(len(s))), s...)
}

func (c *crowd) packet(kind byte, body []byte) {
	head := []byte{kind}
	for n := len(body); ; {
		b := byte(n % 128)
		if n /= 128; n > 0 {
			b |= 128
		}
		if head = append(head, b); n == 0 {
			break
		}
	}
	_, _ = c.out.Write(append(head, body...)) // an error shows at the flush
}

// speak has every probe speak once, spread over the time until a round ends.
func (c *crowd) speak(t *testing.T, round int, until time.Time) {
	t.Helper()
	const parts = 50
	pause := time.Until(until) / parts
	for part := range parts {
		for i := part * c.n / parts; i < (part+1)*c.n/parts; i++ {
			text := fmt.Sprintf(`{"t":%.2f}`, 28+0.01*float64((i+round)%7))
			c.packet(0x30, append(field(fmt.Sprintf("crowd/p%d", i)), text...))
		}
		if err := c.out.Flush(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(pause)
	}
}

// metric gives a value of /metrics.
func metric(t *testing.T, pages client, name string) float64 {
	t.Helper()
	_, text := pages.text("/metrics")
	_, rest, found := strings.Cut(text, "\n"+name)
	value, _, _ := strings.Cut(rest, "\n")
	v, err := strconv.ParseFloat(value, 64)
	if !found || err != nil {
		t.Fatalf("/metrics does not tell %s: %v", name, err)
	}
	return v
}

// cpuOf is what a process has used of the processor.
func cpuOf(t *testing.T, pid int) time.Duration {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		t.Skipf("no /proc here: %v", err)
	}
	_, rest, _ := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	user, _ := strconv.ParseInt(fields[11], 10, 64)
	system, _ := strconv.ParseInt(fields[12], 10, 64)
	return time.Duration(user+system) * 10 * time.Millisecond // the kernel's clock tick
}

// resident is the most that a process has held in memory, MiB.
func resident(t *testing.T, pid int) int {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Skipf("no /proc here: %v", err)
	}
	_, rest, _ := strings.Cut(string(text), "VmHWM:")
	kb, _ := strconv.Atoi(strings.Fields(rest + " 0")[0])
	return kb / 1024
}
