package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"clutchd/daemon/config"
	"clutchd/daemon/store"
	"clutchd/incubation/book"
)

// kills is how often the daemon is killed.
const kills = 20

// TestKilledTwentyTimes kills a daemon with SIGKILL at random moments, while
// entries are posted, alerts come and go and their keeper acknowledges them,
// and holds what was promised against what is there afterwards.
//
// The daemon is a process of its own whose time goes 200 times as fast, so
// that a life of seconds has alerts in it. Its files, its broker and the
// signals are real.
func TestKilledTwentyTimes(t *testing.T) {
	if testing.Short() {
		t.Skip("a minute and a half of real time")
	}
	t.Parallel()
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	dice := rand.New(rand.NewPCG(seed, 0))
	s := newSiege(t)
	s.live(func() { s.enterTheRoom() })
	s.watch()
	for i := range kills {
		v := s.start()
		s.sendAgain()
		if i%3 == 0 { // notices wait for the broker, and outlive the kill
			s.hub.stop()
		}
		time.Sleep(time.Duration(dice.IntN(3000)) * time.Millisecond)
		v.end(syscall.SIGKILL)
		s.killed = append(s.killed, v.lastRead())
		s.autopsy()
		if i%3 == 0 {
			s.hub.start()
		}
	}
	s.live(func() {
		s.stopWatching()
		s.drain()
	})
	s.hub.say("end", "of it")
	s.keeper.await("the last message", func(m told) bool { return m.topic == "end" })
	s.checkNotices()
	s.checkStore()
}

// A siege is a daemon that is killed again and again, and those who use it.
type siege struct {
	*testing.T
	orders  orders
	folder  string
	client  client
	hub     *hub
	keeper  *phone
	killed  []time.Time // what was read last before each kill
	stop    context.CancelFunc
	working sync.WaitGroup

	mu     sync.Mutex
	acked  map[string]book.Entry // entries by request, as they were confirmed
	raised map[string]string     // alert by occurrence, as the disk had it after a kill
	seen   map[string]sighting   // by occurrence, as the API told it
}

func newSiege(t *testing.T) *siege {
	h := newHub(t)
	s := &siege{
		T: t, hub: h, folder: t.TempDir(), acked: map[string]book.Entry{}, raised: map[string]string{},
		seen: map[string]sighting{},
	}
	s.keeper = h.phone("clutchd/+/notice", "end")
	cfg := config.Default()
	cfg.StateDir, cfg.Zone, cfg.Kernel.Off = s.folder, "UTC", true
	cfg.Web.Listen, cfg.Broker.Listen = "127.0.0.1:"+freePort(t), ""
	cfg.Brokers = []config.Remote{{Name: "house", URL: "mqtt://127.0.0.1:" + h.port}}
	s.orders = orders{Config: cfg, Begun: time.Now()}
	s.client = newClient(cfg.Web.Listen)
	return s
}

// A sighting is an alert that the API told of while no kill was near.
type sighting struct {
	alert string
	at    time.Time
}

// mayForget is how long before a kill an alert must have been raised to be on
// the disk: the broker is told at once, and the disk at its own speed.
const mayForget = time.Second

// autopsy notes what alerts the disk has, and forgets those that the API told
// of too late to be there. What was so forgotten is judged anew.
func (s *siege) autopsy() {
	s.Helper()
	now := time.Now()
	kept, err := store.Open(s.Context(), s.folder, store.Options{})
	if err != nil {
		s.Fatal(err)
	}
	defer kept.Close()
	states, err := kept.States(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, a := range states {
		if a.Told() {
			s.raised[a.Occurrence] = a.Alert
		}
	}
	maps.DeleteFunc(s.seen, func(_ string, at sighting) bool { return now.Sub(at.at) < mayForget })
}

// start returns when the daemon is ready.
func (s *siege) start() *victim {
	s.Helper()
	text, err := json.Marshal(s.orders)
	if err != nil {
		s.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"="+string(text))
	v := startVictim(s.T, cmd, "ready")
	v.await(s.T)
	return v
}

// live runs the daemon while do runs, and stops it as systemd does.
func (s *siege) live(do func()) {
	s.Helper()
	v := s.start()
	do()
	v.end(syscall.SIGTERM)
	if said := v.words(); strings.Contains(said, "ended") {
		s.Errorf("stopped, the daemon said:\n%s", said)
	}
}

func (s *siege) enterTheRoom() {
	s.Helper()
	for i := range boxes {
		for j, e := range [][2]string{
			{"place", fmt.Sprintf(`{"place":"b%d","kind":"box","name":"Box %d"}`, i, i)},
			{"probe", fmt.Sprintf(`{"probe":"p%d","place":"b%d","position":"substrate"}`, i, i)},
		} {
			request := fmt.Sprintf("room-%d-%d", i, j)
			if !s.enter(request, e[0], e[1]) {
				s.Fatalf("entry %s was not taken", e[1])
			}
		}
	}
}

// enter posts an entry and reports whether it was confirmed.
func (s *siege) enter(request, kind, data string) bool {
	var done struct{ Entry book.Entry }
	code := s.client.post("/api/entries", fmt.Sprintf(`{"request":%q,"kind":%q,"data":%s}`, request, kind, data), &done)
	if code/100 != 2 {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if before, again := s.acked[request]; again && before.Seq != done.Entry.Seq {
		s.Errorf("request %s was confirmed as entries %d and %d", request, before.Seq, done.Entry.Seq)
	}
	s.acked[request] = done.Entry
	return true
}

// sendAgain posts entries again that were confirmed in an earlier life: enter
// fails the test if one becomes another.
func (s *siege) sendAgain() {
	s.Helper()
	s.mu.Lock()
	acked := maps.Clone(s.acked)
	s.mu.Unlock()
	few := 3
	for request, e := range acked { // in no order: any will do
		if few--; few < 0 {
			return
		}
		late := time.Now().Add(patience)
		for !s.enter(request, string(e.Kind), string(e.Data)) {
			if time.Now().After(late) {
				s.Fatalf("entry %s was confirmed once, and is not again", request)
			}
		}
	}
}

// watch sets two people to work who write notes, and the keeper, who looks at
// the alerts and acknowledges them.
func (s *siege) watch() {
	ctx, cancel := context.WithCancel(context.Background())
	s.stop = sync.OnceFunc(func() { cancel(); s.working.Wait() })
	s.Cleanup(s.stop)
	for who := range 2 {
		s.working.Go(func() {
			for i := 0; ctx.Err() == nil; i++ {
				request := fmt.Sprintf("note-%d-%d", who, i)
				data := fmt.Sprintf(`{"subject":"b%d","text":"note %d of %d"}`, who, i, who)
				for !s.enter(request, "note", data) && ctx.Err() == nil {
					time.Sleep(20 * time.Millisecond) // it is being started again
				}
				if i%7 == 0 { // a double tap
					s.enter(request, "note", data)
				}
			}
		})
	}
	s.working.Go(func() {
		for ctx.Err() == nil {
			s.look()
			time.Sleep(20 * time.Millisecond)
		}
	})
}

func (s *siege) stopWatching() { s.stop() }

// look notes what the API tells as raised and acknowledges it.
func (s *siege) look() {
	var all []standing
	if s.client.get("/api/alerts", &all) != 200 {
		return
	}
	for _, a := range all {
		s.mu.Lock()
		if _, known := s.seen[a.Occurrence]; !known {
			s.seen[a.Occurrence] = sighting{a.Alert, time.Now()}
		}
		s.mu.Unlock()
		if a.Acknowledged == "" {
			s.client.post("/api/alerts/"+a.Alert+"/acknowledge", fmt.Sprintf(`{"occurrence":%q}`, a.Occurrence), nil)
		}
	}
}

// drain returns when the broker has confirmed every notice.
func (s *siege) drain() {
	s.Helper()
	for late := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		s.look()
		_, text := s.client.text("/metrics")
		if strings.Contains(text, `clutchd_outbox_pending{destination="mqtt:house"} 0`) {
			return
		}
		if time.Now().After(late) {
			s.Fatalf("the outbox does not empty:\n%s", text)
		}
	}
}

// checkNotices: each occurrence that was ever seen raised was told, and no id
// stands for two things.
func (s *siege) checkNotices() {
	s.Helper()
	all := s.keeper.notices()
	byID, told := map[uint64]noticed{}, map[string]string{}
	doubled := 0
	for _, n := range all {
		before, again := byID[n.ID]
		if again && (before.Occurrence != n.Occurrence || before.Reason != n.Reason || !before.Time.Equal(n.Time)) {
			s.Errorf("notice %d stands for two things: %+v and %+v", n.ID, before, n)
		}
		if again {
			doubled++
		}
		byID[n.ID] = n
		if alert, known := told[n.Occurrence]; known && alert != n.Alert {
			s.Errorf("occurrence %s is one of %s and of %s", n.Occurrence, alert, n.Alert)
		}
		if n.Reason == "raised" {
			told[n.Occurrence] = n.Alert
		} else if _, known := told[n.Occurrence]; !known {
			s.Errorf("%s of occurrence %s, which was not told as raised before", n.Reason, n.Occurrence)
		}
	}
	for occurrence, seen := range s.seen {
		s.raised[occurrence] = seen.alert
	}
	for occurrence, alert := range s.raised {
		if told[occurrence] != alert {
			s.Errorf("occurrence %s of %s was raised and never told", occurrence, alert)
		}
	}
	for request, e := range s.acked {
		if n, taken := byID[e.Seq]; taken {
			s.Errorf("entry %s and notice %+v have one id", request, n)
		}
	}
	if len(s.raised) < kills/4 {
		s.Errorf("only %d alerts were raised: this tests little", len(s.raised))
	}
	s.Logf("%d notices, %d of them doubled, %d occurrences", len(byID), doubled, len(told))
}

// checkStore opens what the killed daemons have left.
func (s *siege) checkStore() {
	s.Helper()
	kept, err := store.Open(s.Context(), s.folder, store.Options{})
	if err != nil {
		s.Fatal(err)
	}
	defer kept.Close()
	if d := kept.Damage(); len(d) > 0 {
		s.Errorf("the store is damaged: %v", d)
	}
	if aside, _ := filepath.Glob(filepath.Join(s.folder, "*.damaged-*")); len(aside) > 0 {
		s.Errorf("files were set aside: %v", aside)
	}
	entries, err := kept.Entries(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	s.checkEntries(entries)
	s.checkReadings(kept)
}

func (s *siege) checkEntries(entries []book.Entry) {
	s.Helper()
	seqs, requests := map[uint64]bool{}, map[string]book.Entry{}
	for _, e := range entries {
		if seqs[e.Seq] {
			s.Errorf("two entries have the sequence %d", e.Seq)
		}
		seqs[e.Seq] = true
		if e.Request == "" { // what was done about an alert: doing it twice is one occurrence's matter
			continue
		}
		if _, twice := requests[e.Request]; twice {
			s.Errorf("request %s was entered twice", e.Request)
		}
		requests[e.Request] = e
	}
	for _, request := range slices.Sorted(maps.Keys(s.acked)) {
		want, got := s.acked[request], requests[request]
		if got.Seq != want.Seq || string(got.Data) != string(want.Data) {
			s.Errorf("entry %s was confirmed as %d %s, the book has %d %s",
				request, want.Seq, want.Data, got.Seq, got.Data)
		}
	}
	s.Logf("%d entries confirmed, %d in the book", len(s.acked), len(entries))
}

// mayLose is what a kill may cost: the minute that is not due yet, the tick
// that makes it due, and the commit that is under way, here another minute: a
// write takes as long as it takes, and a minute is 0.3 s of it.
const mayLose = 2*time.Minute + beatRoom

func (s *siege) checkReadings(kept *store.Store) {
	s.Helper()
	var stored []time.Time
	for r, err := range kept.Range(s.Context(), "p0", time.Time{}, time.Now().Add(1000*time.Hour)) {
		if err != nil {
			s.Fatal(err)
		}
		stored = append(stored, r.Time)
	}
	worst := time.Duration(0)
	for i, at := range s.killed {
		n, _ := slices.BinarySearchFunc(stored, at, time.Time.Compare)
		if n == 0 {
			s.Fatalf("nothing is stored from before kill %d", i)
		}
		worst = max(worst, at.Sub(stored[n-1]))
	}
	s.Logf("%d readings of a probe; a kill cost at most %s of them", len(stored), worst)
	if worst > mayLose {
		s.Errorf("a kill cost %s of readings, at most %s may be lost", worst, mayLose)
	}
}
