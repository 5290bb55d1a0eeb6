package daemon_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"maps"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/store"
)

// The least that a siege of the notices' way goes through; the form that the
// README speaks of is -notices 1000 -cuts 200 -kills 30.
var (
	noticesFlag = flag.Int("notices", 150, "notices that are kept in TestNothingLost")
	cutsFlag    = flag.Int("cuts", 40, "cuts of a connection in TestNothingLost")
	killsFlag   = flag.Int("kills", 8, "kills in TestNothingLost")
)

// TestNothingLost posts notices on their way to two brokers and two webhooks,
// one of which is dead throughout, while connections are cut, slowed down and
// swallowed and the process is killed with SIGKILL. Whatever was on the disk
// arrives everywhere, in order; a double is the same message again.
func TestNothingLost(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of real time")
	}
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	dice := rand.New(rand.NewPCG(seed, 0))
	w := newCourse(t)
	stop := w.spoil(seed)
	killed := 0
	for killed < *killsFlag || w.cuts() < *cutsFlag || len(w.kept) < *noticesFlag {
		v := w.start()
		time.Sleep(time.Duration(dice.IntN(3000)) * time.Millisecond)
		v.end(syscall.SIGKILL)
		killed++
		w.autopsy(v)
	}
	stop()
	w.drain()
	w.check(killed)
}

// A course is a poster under siege, and those whom its notices are for.
type course struct {
	*testing.T
	orders  poster
	hubs    []*hub
	phones  []*phone
	service *mailbox
	proxies []*proxy

	kept   map[uint64]said      // what the disk had
	posted map[uint64]time.Time // when it was handed to the outbox

	mu    sync.Mutex
	nCuts int
}

func newCourse(t *testing.T, broker ...string) *course {
	t.Helper()
	w := &course{T: t, kept: map[uint64]said{}, posted: map[uint64]time.Time{}}
	w.orders = poster{
		Folder: t.TempDir(), Every: 50 * time.Millisecond, Brokers: map[string]string{},
		Hooks: map[string]string{}, Dead: "webhook:dead",
	}
	for _, name := range []string{"house", "elsewhere"} {
		h := newHub(t, broker...)
		p := newProxy(t, "127.0.0.1:"+h.port)
		w.hubs, w.phones, w.proxies = append(w.hubs, h), append(w.phones, h.phone("clutchd/home/notice", "end")), append(w.proxies, p)
		w.orders.Brokers[name] = "mqtt://" + p.addr
	}
	w.service = newMailbox(t)
	p := newProxy(t, strings.TrimPrefix(w.service.URL, "http://"))
	w.proxies = append(w.proxies, p)
	w.orders.Hooks["phone"] = "http://" + p.addr + "/"
	w.orders.Hooks["dead"] = "http://127.0.0.1:" + freePort(t) + "/"
	return w
}

// A mailbox is a webhook's far side that keeps what it has confirmed.
type mailbox struct {
	*httptest.Server
	mu  sync.Mutex
	all []told
}

func newMailbox(t *testing.T) *mailbox {
	t.Helper()
	m := &mailbox{}
	m.Server = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			return // it was cut: the far side has nothing
		}
		m.mu.Lock()
		defer m.mu.Unlock()
		m.all = append(m.all, told{"/notice", string(body), time.Now()})
	}))
	t.Cleanup(m.Close)
	return m
}

func (m *mailbox) heard() []told {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.all)
}

// spoil makes the network bad until stop.
func (w *course) spoil(seed uint64) (stop func()) {
	over := make(chan struct{})
	var running sync.WaitGroup
	for i, p := range w.proxies {
		running.Go(func() {
			dice := rand.New(rand.NewPCG(seed, uint64(i+1)))
			for {
				select {
				case <-over:
					p.set(0, false)
					return
				case <-time.After(time.Duration(dice.IntN(800)) * time.Millisecond):
				}
				if p.spoil(dice, *cutsFlag >= 200) {
					w.mu.Lock()
					w.nCuts++
					w.mu.Unlock()
				}
			}
		})
	}
	stop = sync.OnceFunc(func() { close(over); running.Wait() })
	w.Cleanup(stop)
	return stop
}

func (w *course) cuts() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.nCuts
}

func (w *course) command(orders poster, before ...string) *exec.Cmd {
	text, err := json.Marshal(orders)
	if err != nil {
		w.Fatal(err)
	}
	args := append(before, os.Args[0])
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Env = append(os.Environ(), posterEnv+"="+string(text))
	return cmd
}

func (w *course) start(before ...string) *victim {
	w.Helper()
	v := startVictim(w.T, w.command(w.orders, before...), "ready")
	v.await(w.T)
	return v
}

// autopsy notes what a killed poster had said that it kept, and what the disk
// has beyond that.
func (w *course) autopsy(v *victim) {
	w.Helper()
	w.read(v)
	kept, err := store.Open(w.Context(), w.orders.Folder, store.Options{})
	if err != nil {
		w.Fatal(err)
	}
	defer kept.Close()
	if d := kept.Damage(); len(d) > 0 {
		w.Errorf("the store is damaged: %v", d)
	}
	pending, _, err := kept.Outbox(w.Context())
	if err != nil {
		w.Fatal(err)
	}
	for _, n := range pending {
		w.kept[n.ID] = said{ID: n.ID, Alert: n.Alert, Occurrence: n.Occurrence, Reason: n.Reason}
	}
}

// read notes what a poster says.
func (w *course) read(v *victim) {
	w.Helper()
	for _, line := range strings.Split(v.words(), "\n") {
		var s said
		if json.Unmarshal([]byte(line), &s) != nil {
			continue // the log, or a line that the kill cut off
		}
		switch s.What {
		case "posted":
			if _, twice := w.posted[s.ID]; twice {
				w.Errorf("notice %d was posted twice", s.ID)
			}
			w.posted[s.ID] = s.At
		case "kept":
			w.kept[s.ID] = s
		}
	}
}

// drain lets a last life, over a good network, bring away what waits.
func (w *course) drain() {
	w.Helper()
	orders := w.orders
	orders.Every = 0
	v := startVictim(w.T, w.command(orders), "drained")
	v.await(w.T)
	v.end(syscall.SIGTERM)
	for i, h := range w.hubs {
		h.say("end", "of it")
		w.phones[i].await("the last message", func(m told) bool { return m.topic == "end" })
	}
}

// check holds what arrived against what was kept.
func (w *course) check(killed int) {
	w.Helper()
	bodies := map[uint64]string{}
	doubles, longest := 0, time.Duration(0)
	arrived := map[string][]told{"webhook": w.service.heard()}
	for i, p := range w.phones {
		arrived[fmt.Sprint("broker ", i)], _ = p.heard()
	}
	for _, where := range slices.Sorted(maps.Keys(arrived)) {
		first, newest := map[uint64]bool{}, uint64(0)
		for _, m := range arrived[where] {
			if !strings.HasSuffix(m.topic, "/notice") {
				continue
			}
			var n alerts.NoticePayload
			if err := json.Unmarshal([]byte(m.payload), &n); err != nil {
				w.Errorf("%s got %q: %v", where, m.payload, err)
				continue
			}
			if before, known := bodies[n.ID]; known && before != m.payload {
				w.Errorf("notice %d stands for two things:\n%s\n%s", n.ID, before, m.payload)
			}
			bodies[n.ID] = m.payload
			if first[n.ID] {
				doubles++
				continue
			}
			if n.ID < newest {
				w.Errorf("%s got notice %d after %d", where, n.ID, newest)
			}
			first[n.ID], newest = true, n.ID
			if at, known := w.posted[n.ID]; known {
				longest = max(longest, m.at.Sub(at))
			}
			if k, known := w.kept[n.ID]; known && (k.Alert != n.Alert || k.Occurrence != n.Occurrence || k.Reason != n.Reason) {
				w.Errorf("%s got %s, the disk had %+v", where, m.payload, k)
			}
		}
		lost := 0
		for id := range w.kept {
			if !first[id] {
				lost++
			}
		}
		if lost > 0 {
			w.Errorf("%s never got %d of %d notices that were on the disk", where, lost, len(w.kept))
		}
	}
	w.Logf("%d notices kept of %d posted, %d cuts, %d kills; to 3 destinations beside a dead one: %d doubles, longest wait %s",
		len(w.kept), len(w.posted), w.cuts(), killed, doubles, longest.Round(10*time.Millisecond))
}
