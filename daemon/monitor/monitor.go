// Package monitor is the product: the tick that reads, judges and hands on,
// and the one door through which anything changes.
//
// It knows no wire, disk format, broker or page: those are ports that it is
// given. Nothing in a tick waits for a disk, a sensor or the network.
// Temperatures are °C, times UTC, humidity a ratio.
package monitor

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

// A Poster takes notices that are to leave the house. Post must not block.
type Poster interface {
	Post(n ...alerts.Notice)
	// Pending and Confirmed are by destination: how many notices wait for it
	// now, and how many it has confirmed since the start.
	Pending() map[string]int
	Confirmed() map[string]uint64
}

// Options are what a Monitor is made of. All fields but those that say so
// are needed.
type Options struct {
	Site     string
	Zone     string // IANA name of the room's zone
	Store    Store
	Sampler  Sampler
	Contacts ContactSampler // nil: there are none
	Poster   Poster
	Ensemble *incubation.Ensemble
	Log      *slog.Logger
	// Fahrenheit writes the alerts' texts in °F.
	Fahrenheit bool
	// Damage gives a sentence for each damage that the store has found since it
	// was opened, and does not wait for a disk. May be nil.
	Damage func() []string
	// Quiet sends nothing and estimates nothing: for a season lived through
	// in virtual time. Live ends it.
	Quiet bool
	// IDs is how many ids are set aside on the disk at a time; zero: enough
	// for years.
	IDs uint64
}

// A Monitor watches the room. Start it once, Run it, and call Tick from one
// goroutine.
type Monitor struct {
	opt    Options
	zone   *time.Location
	rules  []alerts.Rule
	commit *committer
	door   sync.Mutex // one entry at a time; held while its write runs, mu is not
	snap   atomic.Pointer[Snapshot]
	change atomic.Pointer[chan struct{}] // closed when a new snapshot stands
	// previewing: the past is being lived through.
	previewing atomic.Bool

	mu       sync.Mutex
	ids      ids
	clock    reckoning
	started  time.Time
	ticks    uint64
	quiet    bool
	entries  []book.Entry
	requests map[string]uint64 // request id -> seq
	undated  []book.Entry      // made while the clock was not set: see date
	book     *book.State

	probes   map[string]*probeState
	contacts map[string]*contactState
	states   map[string]alerts.State
	flood    alerts.Flood
	watch    map[string]*placeWatch
	courses  map[string]*course
	cuts     map[string]powerCut // by mains contact
	eggs     eggWatch
	season   seasonWatch

	lastRun time.Time // newest stored reading when it started: zero for a new room
	away    *awayNow
	gaps    chan question // asked of the history; see recall
	damage  damageNow
	// confirmed is what each destination had confirmed at the last tick.
	confirmed map[string]uint64

	backedUp   time.Time // when a copy of the book was last asked for
	droppedOld time.Time // when old occurrences were last dropped from the log
	flushed    int64     // the minute that readings were last handed to the disk
	company    time.Time // end of the block that probes were last compared by
	circles    map[string]*circle
	relearn    bool // the shelves' differences are to be read from the history
	forgotten  bool // how places swing and cool is to be read from the history
}

// New makes a monitor; Start loads it.
func New(opt Options) *Monitor {
	m := &Monitor{
		opt: opt, commit: newCommitter(opt.Store, opt.Log), quiet: opt.Quiet,
		book:  book.Fold(nil),
		rules: alerts.Rules(),

		requests: map[string]uint64{},
		probes:   map[string]*probeState{},
		contacts: map[string]*contactState{},
		states:   map[string]alerts.State{},
		watch:    map[string]*placeWatch{},
		courses:  map[string]*course{},
		cuts:     map[string]powerCut{},
		circles:  map[string]*circle{},
	}
	m.gaps = make(chan question, 1)
	m.opt.IDs = cmp.Or(opt.IDs, idBlock)
	if m.zone, _ = time.LoadLocation(opt.Zone); m.zone == nil {
		m.zone = time.UTC
	}
	m.eggs.init()
	ch := make(chan struct{})
	m.change.Store(&ch)
	m.snap.Store(&Snapshot{Site: opt.Site, Book: m.book, Outbox: map[string]int{}})
	return m
}

// Start loads the book, the alert states and a block of ids. It is the only
// place where the monitor waits for the disk.
func (m *Monitor) Start(ctx context.Context) error {
	first, err := m.opt.Store.Reserve(ctx, m.opt.IDs)
	if err != nil {
		return fmt.Errorf("set ids aside: %w", err)
	}
	entries, err := m.opt.Store.Entries(ctx)
	if err != nil {
		return fmt.Errorf("read the book: %w", err)
	}
	states, err := m.opt.Store.States(ctx)
	if err != nil {
		return fmt.Errorf("read the alerts: %w", err)
	}
	newest, err := m.opt.Store.Newest(ctx)
	if err != nil {
		return fmt.Errorf("read the history: %w", err)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ids = ids{next: first, end: first + m.opt.IDs}
	m.entries = entries
	m.clock.newest, m.lastRun = newest, newest
	for _, e := range entries {
		// A book that was written in later than a probe spoke tells more of
		// what time it is.
		m.clock.newest = later(m.clock.newest, e.Made)
		if e.Request != "" {
			m.requests[e.Request] = e.Seq
		}
	}
	m.book = book.Fold(entries)
	m.flood.Restore(states)
	for _, s := range states {
		// The time that nobody looked counts for no delay.
		m.states[s.Alert] = s.Pause(newest)
	}
	return nil
}

// Run writes to the store and computes records anew until ctx ends; then it
// writes what is left.
func (m *Monitor) Run(ctx context.Context) error {
	var both sync.WaitGroup
	both.Go(func() { m.commit.run(ctx) })
	both.Go(func() { m.replay(ctx) })
	both.Go(func() { m.recall(ctx) })
	both.Wait()
	return nil
}

// Live ends Quiet: from the next tick on alerts are sent and eggs estimated,
// from their whole record.
func (m *Monitor) Live() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.quiet = false
	m.anew(m.clock.now)
}

// LastReading is the time of the newest reading that was stored when the
// monitor started, zero if there was none.
func (m *Monitor) LastReading() time.Time {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.lastRun
}

// Standing gives the alerts that a keeper is to see, worst first, in a quiet
// time too.
func (m *Monitor) Standing() []alerts.State {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.alertsNow()
}

// Snapshot is what was true at the last finished tick. It is never nil, and
// nobody may change it.
func (m *Monitor) Snapshot() *Snapshot { return m.snap.Load() }

// Changed gives a channel that is closed when the next snapshot stands.
func (m *Monitor) Changed() <-chan struct{} { return *m.change.Load() }

// Entries gives the book's entries with a higher sequence than since, in
// order of sequence.
func (m *Monitor) Entries(since uint64) []book.Entry {
	m.mu.Lock()
	defer m.mu.Unlock()
	var out []book.Entry
	for _, e := range m.entries {
		if e.Seq > since {
			out = append(out, e)
		}
	}
	return out
}

// Sync returns when everything handed on so far is on the disk, or with the
// reason why it is not.
func (m *Monitor) Sync(ctx context.Context) error {
	select {
	case err := <-m.commit.ask("everything", nil):
		if err != nil {
			return fmt.Errorf("write to the store: %w", err)
		}
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// A probeState is what the monitor knows of one probe.
type probeState struct {
	probe   sensors.Probe      // only its ID until it is found
	found   bool               // the sampler has told of it
	latest  incubation.Reading // corrected
	trusted heard
	fault   sensors.Cause
	faults  map[sensors.Cause]uint64
	seen    time.Time // first seen: silence is counted from here
	aligner incubation.Aligner
}
