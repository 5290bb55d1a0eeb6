package monitor_test

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// post is a poster that keeps what it is given.
type post struct {
	mu  sync.Mutex
	got []alerts.Notice

	dead map[string]int // by destination: how many it had when it died; -1: it lives
}

func (p *post) Post(n ...alerts.Notice) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.got = append(p.got, n...)
}

// Pending is how many notices came since a destination has died.
func (p *post) Pending() map[string]int {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := map[string]int{}
	for name, had := range p.dead {
		if out[name] = 0; had >= 0 {
			out[name] = len(p.got) - had
		}
	}
	return out
}

// Confirmed is how many it has.
func (p *post) Confirmed() map[string]uint64 {
	out := map[string]uint64{}
	for name, waits := range p.Pending() {
		p.mu.Lock()
		out[name] = uint64(len(p.got) - waits)
		p.mu.Unlock()
	}
	return out
}

// is lets a destination die or live again.
func (p *post) is(name string, dead bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.dead == nil {
		p.dead = map[string]int{}
	}
	if p.dead[name] = -1; dead {
		p.dead[name] = len(p.got)
	}
}

// said gives "reason rule subject" of each notice so far.
func (p *post) said() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []string
	for _, n := range p.got {
		out = append(out, string(n.Reason)+" "+n.Rule+" "+n.Subject.ID)
	}
	return out
}

// hand is a sampler in which a test says what each probe says.
type hand struct {
	mu     sync.Mutex
	probes []sensors.Probe
	say    map[string]sensors.Outcome // repeated at every sample
}

func newHand(ids ...string) *hand {
	h := &hand{say: map[string]sensors.Outcome{}}
	for _, id := range ids {
		h.probes = append(h.probes, sensors.Probe{
			ID: id, Model: "test", Has: incubation.Temperature, Interval: 10 * time.Second, Accuracy: 0.2,
		})
	}
	return h
}

func (h *hand) Probes() []sensors.Probe { return h.probes }

func (h *hand) Sample(_ context.Context, now time.Time) []sensors.Outcome {
	h.mu.Lock()
	defer h.mu.Unlock()
	var out []sensors.Outcome
	for _, id := range slices.Sorted(maps.Keys(h.say)) {
		o := h.say[id]
		o.Time = now
		out = append(out, o)
	}
	return out
}

func (h *hand) celsius(probe string, c incubation.Celsius) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.say[probe] = sensors.Outcome{
		Probe: probe, Reading: incubation.Reading{Probe: probe, Has: incubation.Temperature, Celsius: c},
	}
}

// humid adds a humidity to what the probe says.
func (h *hand) humid(probe string, ratio incubation.Humidity) {
	h.mu.Lock()
	defer h.mu.Unlock()
	o := h.say[probe]
	o.Reading.Has |= incubation.RelativeHumidity
	o.Reading.Humidity = ratio
	h.say[probe] = o
}

func (h *hand) fault(probe string, cause sensors.Cause) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.say[probe] = sensors.Outcome{Probe: probe, Fault: &sensors.Fault{Probe: probe, Cause: cause}}
}

func (h *hand) silent(probe string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.say, probe)
}

// room is a monitor with its doubles, in virtual time.
type room struct {
	*testing.T
	*monitor.Monitor
	store *memory
	post  *post
	hand  *hand
	panel *panel
	began time.Time
	// wall is added to the virtual clock to give the machine's: a Pi's lies in
	// 1970 until it is set.
	wall    time.Duration
	trusted bool
	boot    string
}

// members is few enough for quick tests.
const members = 25

// newRoom starts a monitor over a store. Call it inside a synctest bubble.
func newRoom(t *testing.T, store *memory, probes ...string) *room {
	t.Helper()
	return newRoomOf(t, store, func(*monitor.Options) {}, probes...)
}

// newRoomOf is newRoom with other options.
func newRoomOf(t *testing.T, store *memory, with func(*monitor.Options), probes ...string) *room {
	t.Helper()
	r := &room{T: t, store: store, post: &post{}, hand: newHand(probes...), panel: &panel{}, began: time.Now(), trusted: true, boot: "boot-1"}
	o := monitor.Options{
		Site: "test", Zone: "UTC", Store: store, Sampler: r.hand, Contacts: r.panel, Poster: r.post,
		Ensemble: species.Ensemble(members),
		Log:      slog.New(slog.NewTextHandler(io.Discard, nil)),
		Damage:   store.damage,
	}
	with(&o)
	r.Monitor = monitor.New(o)
	if err := r.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = r.Monitor.Run(ctx)
	}()
	t.Cleanup(func() { stop(); <-done })
	return r
}

func (r *room) instant() monitor.Instant {
	now := time.Now()
	return monitor.Instant{
		Wall: now.Add(r.wall), Trusted: r.trusted, Boot: r.boot, Elapsed: now.Sub(r.began),
	}
}

// live ticks every ten seconds for d, the first tick at once.
func (r *room) live(d time.Duration) {
	r.Helper()
	for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(10 * time.Second) {
		r.Tick(r.Context(), r.instant())
	}
}

// days ticks as seldom as the probes stay fresh.
func (r *room) days(n int) {
	r.Helper()
	for end := time.Now().Add(time.Duration(n) * 24 * time.Hour); time.Now().Before(end); time.Sleep(4 * time.Minute) {
		r.Tick(r.Context(), r.instant())
	}
	r.live(time.Minute)
}

// logged lets days pass that only a logger recorded, one temperature all along,
// and brings its file in: quicker than days, where the ticks are no matter.
func (r *room) logged(n int, probe string, celsius incubation.Celsius) {
	r.Helper()
	var readings []incubation.Reading
	end := time.Now().Add(time.Duration(n) * 24 * time.Hour)
	for at := time.Now(); at.Before(end); at = at.Add(incubation.BlockLength) {
		readings = append(readings, incubation.Reading{
			Probe: probe, Time: at.UTC(), Has: incubation.Temperature, Celsius: celsius,
		})
	}
	time.Sleep(time.Until(end))
	r.live(time.Minute)
	if err := r.Import(r.Context(), probe, readings); err != nil {
		r.Fatal(err)
	}
	synctest.Wait()
	r.live(time.Minute)
}

// enter writes an entry and fails the test if it is refused.
func (r *room) enter(kind book.Kind, data any) book.Entry {
	r.Helper()
	return r.enterAt(time.Time{}, kind, data)
}

func (r *room) enterAt(at time.Time, kind book.Kind, data any) book.Entry {
	r.Helper()
	text, err := json.Marshal(data)
	if err != nil {
		r.Fatal(err)
	}
	done, err := r.Do(r.Context(), monitor.Change{Entry: &book.Entry{At: at, Kind: kind, Data: text}})
	if err != nil {
		r.Fatalf("enter %s %s: %v", kind, text, err)
	}
	return done.Entry
}

// incubator sets up incubator "inc" at a setpoint with box "box", and probe
// "p" in the box's substrate.
func (r *room) incubator(setpoint incubation.Celsius) {
	r.Helper()
	r.enter(book.KindPlace, book.PlaceData{Place: "inc", Kind: incubation.Incubator, Name: "Incubator"})
	r.enter(book.KindPlace, book.PlaceData{Place: "box", Kind: incubation.Box, Name: "Box"})
	r.enter(book.KindStand, book.StandData{Place: "box", In: "inc"})
	r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: setpoint})
	r.enter(book.KindProbe, book.ProbeData{Probe: "p", Place: "box", Position: incubation.Substrate})
}

// clutch enters a clutch of two laid now and placed into the box.
func (r *room) clutch() {
	r.Helper()
	now := r.Snapshot().Time
	r.enter(book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
	r.enter(book.KindLaying, book.LayingData{
		Clutch: "fern-1", Female: "fern", From: now.Add(-12 * time.Hour), To: now,
		Eggs: []book.EggName{{Egg: "fern-1a", Mark: "A"}, {Egg: "fern-1b", Mark: "B"}},
	})
	r.enter(book.KindEgg, book.EggData{Egg: "fern-1a", Box: "box"})
	r.enter(book.KindEgg, book.EggData{Egg: "fern-1b", Box: "box"})
}

// again starts a second monitor over the room's store, as after a restart of
// the program within the same boot.
func (r *room) again(probes ...string) *room {
	r.Helper()
	if err := r.Sync(r.Context()); err != nil {
		r.Fatal(err)
	}
	next := newRoom(r.T, r.store, probes...)
	next.began, next.boot, next.wall = r.began, r.boot, r.wall
	return next
}

// alert gives the state of an alert that a keeper is to see, nil if it is not.
func (r *room) alert(id string) *alerts.State {
	for _, a := range r.Snapshot().Alerts {
		if a.Alert == id {
			return &a
		}
	}
	return nil
}

// place gives a place of the snapshot.
func (r *room) place(id string) monitor.PlaceNow {
	r.Helper()
	for _, p := range r.Snapshot().Places {
		if p.ID == id {
			return p
		}
	}
	r.Fatalf("no place %q", id)
	return monitor.PlaceNow{}
}

// deep follows a snapshot's pointers, for printing.
func deep(s *monitor.Snapshot) string {
	text, err := json.Marshal(s)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// arithmetic skips a test that is much arithmetic on one goroutine when the
// race detector would take minutes to find nothing in it.
func arithmetic(t *testing.T) {
	t.Helper()
	if underRace {
		t.Skip("much arithmetic on one goroutine: left to the plain and the 32-bit run")
	}
}
