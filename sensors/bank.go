package sensors

import (
	"context"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	// every is how often a sensor is read that does not say so itself.
	every = 10 * time.Second
	// deadline is how long one Read may take.
	deadline = 10 * time.Second
	// grace is how long Run waits at its end for a Read that is under way.
	grace = time.Second
	// backlog is how many outcomes wait for Sample at least; then the oldest go.
	backlog = 4096
	// backlogEach is how many do of each probe that ever spoke: a room of
	// thousands must not lose what one tick is to bring.
	backlogEach = 16
)

// A Bank reads every sensor on its own interval and gathers what devices say
// by themselves. A call into one bus that does not return costs that bus's
// probes, by name, and nobody else's. Its methods may be called from several
// goroutines, before, while and after it runs.
type Bank struct {
	log   *slog.Logger
	added chan struct{} // a bus waits to be started

	mu      sync.Mutex
	buses   map[string]*bus
	fed     map[string]Probe // probes fed by Push
	last    map[string]Cause // of each probe's newest outcome, "" for a reading
	pending []Outcome
	dropped uint64
	full    bool // outcomes were dropped since Sample was last called
}

// NewBank gives a bank without sensors.
func NewBank(log *slog.Logger) *Bank {
	return &Bank{
		log:   log,
		added: make(chan struct{}, 1),
		buses: map[string]*bus{},
		fed:   map[string]Probe{},
		last:  map[string]Cause{},
	}
}

// Add has s read from now on, by the one goroutine that owns the bus. A
// sensor whose probe is known already takes the earlier one's place and turn,
// so that whatever a search finds can be added again and again.
func (b *Bank) Add(busName string, s Sensor) {
	p := withInterval(s.Probe())
	b.mu.Lock()
	defer b.mu.Unlock()
	for name, other := range b.buses {
		if name != busName {
			other.remove(p.ID)
		}
	}
	on := b.buses[busName]
	if on == nil {
		on = newBus(busName, b.log, b.deliver)
		b.buses[busName] = on
		signal(b.added)
	}
	on.put(p, s)
}

// Announce lists a probe that is fed by Push.
func (b *Bank) Announce(p Probe) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fed[p.ID] = withInterval(p)
}

// Push takes what a device said by itself. A zero Time is now; a zero
// Reading.Time is the outcome's. A probe that nobody announced is listed with
// what its first reading tells of it.
func (b *Bank) Push(o Outcome) {
	if o.Time.IsZero() {
		o.Time = time.Now().UTC()
	}
	b.deliver(b.known(o), o)
}

func (b *Bank) known(o Outcome) Probe {
	b.mu.Lock()
	defer b.mu.Unlock()
	p, ok := b.fed[o.Probe]
	if !ok {
		p = withInterval(Probe{ID: o.Probe, Has: o.Reading.Has})
		b.fed[o.Probe] = p
	}
	return p
}

// Run reads until ctx ends. A Read that is under way then is waited for, a
// second at most; one that is stuck is left behind. Its error is always nil.
func (b *Bank) Run(ctx context.Context) error {
	var running sync.WaitGroup
	started := map[*bus]bool{}
	for {
		for _, next := range b.list() {
			if !started[next] {
				started[next] = true
				running.Go(func() { next.run(ctx) })
			}
		}
		select {
		case <-b.added:
		case <-ctx.Done():
			running.Wait()
			return nil
		}
	}
}

func (b *Bank) list() []*bus {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := make([]*bus, 0, len(b.buses))
	for _, one := range b.buses {
		all = append(all, one)
	}
	return all
}

// Probes lists every probe that is read or fed, by id.
func (b *Bank) Probes() []Probe {
	b.mu.Lock()
	defer b.mu.Unlock()
	byID := map[string]Probe{}
	for id, p := range b.fed {
		byID[id] = p
	}
	for _, one := range b.buses {
		for _, p := range one.probes() {
			p.Through = one.name
			byID[p.ID] = p
		}
	}
	all := make([]Probe, 0, len(byID))
	for _, p := range byID {
		all = append(all, p)
	}
	slices.SortFunc(all, func(x, y Probe) int { return strings.Compare(x.ID, y.ID) })
	return all
}

// Sample gives what has arrived since it was last asked, oldest first, and
// never waits for a sensor. It needs neither ctx nor now: outcomes bear the
// time, with its monotonic part, at which they came about.
func (b *Bank) Sample(_ context.Context, _ time.Time) []Outcome {
	b.mu.Lock()
	got := b.pending
	b.pending, b.full = nil, false
	b.mu.Unlock()
	slices.SortStableFunc(got, func(x, y Outcome) int { return x.Time.Compare(y.Time) })
	return got
}

// Dropped counts the outcomes that were lost because nobody asked for them.
func (b *Bank) Dropped() uint64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.dropped
}

// deliver puts an outcome in line for Sample, once its value is trusted.
func (b *Bank) deliver(p Probe, o Outcome) {
	o = settle(p, o)
	b.mu.Lock()
	cause := causeOf(o)
	before := b.last[o.Probe]
	b.last[o.Probe] = cause
	overflow := len(b.pending) >= max(backlog, backlogEach*len(b.last))
	news := overflow && !b.full
	if overflow {
		b.pending = b.pending[1:]
		b.dropped++
		b.full = true
	}
	b.pending = append(b.pending, o)
	b.mu.Unlock()
	switch {
	case cause == before:
	case cause == "":
		b.log.Info("probe reads again", "probe", o.Probe, "after", before)
	default:
		b.log.Warn("probe gives no value", "probe", o.Probe, "cause", cause, "err", o.Fault.Err)
	}
	if news {
		b.log.Warn("outcomes are being dropped: nobody samples the bank")
	}
}

func withInterval(p Probe) Probe {
	if p.Interval <= 0 {
		p.Interval = every
	}
	return p
}

// signal wakes whoever waits on c, once, and never waits itself.
func signal(c chan struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
