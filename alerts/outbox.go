package alerts

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"
)

// MaxWaiting is how many notices an outbox holds in memory.
const MaxWaiting = 10_000

// An Outbox brings notices to every destination at least once and in the
// order of their ids. After a restart, or when a confirmation was lost, a
// destination may get a notice again, under the same id.
//
// Each destination has its own worker and cursor: a dead one holds up nobody.
// Notices leave from memory, whatever the disk does.
type Outbox struct {
	keeper Keeper
	log    *slog.Logger
	saving chan struct{} // a cursor moved

	mu      sync.Mutex
	queue   []queued // by id, each once
	cursors map[string]uint64
	lanes   map[string]*lane // by destination, once Run knows them
	running bool
	dropped uint64
	// reminded are the occurrences of which a reminder may wait.
	reminded map[occasion]bool
}

// queued is a notice that some destination may still lack.
type queued struct {
	Notice
	posted bool // came from Post: a cursor loaded at start says nothing of it
}

// NewOutbox starts from what the store held: the notices that some
// destination still lacks, in any order, and the last id that each one has.
// A destination without a cursor starts at the oldest pending notice.
func NewOutbox(
	pending []Notice, cursors map[string]uint64, keeper Keeper, log *slog.Logger,
) *Outbox {
	o := &Outbox{
		keeper:  keeper,
		log:     log,
		saving:  make(chan struct{}, 1),
		cursors: maps.Clone(cursors),
		lanes:   map[string]*lane{},

		reminded: map[occasion]bool{},
	}
	for _, n := range pending {
		o.insert(queued{Notice: n})
	}
	o.coalesce()
	o.shed()
	return o
}

// Post hands over notices, to be sent at once. It does not block. A notice
// whose id is waiting already is the same notice. Ids should rise from call
// to call: a notice that comes later than a higher one was delivered is still
// sent, but would not survive a power cut before that.
//
// A reminder that still waits gives way to whatever is newer of its occurrence:
// who comes back after a night hears of it once. Nothing else ever does.
//
// Above MaxWaiting something is dropped, counted and logged: see worth.
func (o *Outbox) Post(notices ...Notice) {
	o.mu.Lock()
	defer o.mu.Unlock()
	for _, n := range notices {
		if !o.insert(queued{Notice: n, posted: true}) || o.superseded(n) {
			continue
		}
		for _, l := range o.lanes {
			l.posted(n.ID)
		}
	}
	o.shed()
	for _, l := range o.lanes {
		nudge(l.wake)
	}
}

// Pending is how many notices each destination has yet to confirm. It is
// empty before the first Run.
func (o *Outbox) Pending() map[string]int {
	o.mu.Lock()
	defer o.mu.Unlock()
	counts := make(map[string]int, len(o.lanes))
	for name, l := range o.lanes {
		counts[name] = len(o.queue) - o.after(l.cursor) + len(l.late)
	}
	return counts
}

// Confirmed is how many notices each destination has confirmed since it was
// first run. It is empty before that.
func (o *Outbox) Confirmed() map[string]uint64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	counts := make(map[string]uint64, len(o.lanes))
	for name, l := range o.lanes {
		counts[name] = l.confirmed
	}
	return counts
}

// Dropped is how many notices were given up for want of room since the start.
func (o *Outbox) Dropped() uint64 {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.dropped
}

// Run delivers until ctx ends, then returns nil. It returns an error at once
// if two publishers have the same destination, or if it runs already.
func (o *Outbox) Run(ctx context.Context, publishers ...Publisher) error {
	dests, err := o.open(publishers)
	if err != nil {
		return err
	}
	defer o.close()
	keeping, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	kept := make(chan struct{})
	go func() {
		defer close(kept)
		o.keep(keeping, dests)
	}()
	var workers sync.WaitGroup
	for _, p := range publishers {
		workers.Go(func() { o.deliver(ctx, p) })
	}
	workers.Wait()
	<-ctx.Done()
	stop()
	select {
	case <-kept:
	case <-time.After(2 * finalSave):
		o.log.Warn("outbox stopped before its cursors were stored")
	}
	return nil
}

// open makes a lane for every publisher that has none and gives the
// destinations, sorted. Lanes of destinations that are gone are dropped.
func (o *Outbox) open(publishers []Publisher) ([]string, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.running {
		return nil, errors.New("run outbox: it runs already")
	}
	lanes := map[string]*lane{}
	for _, p := range publishers {
		name := p.Destination()
		if lanes[name] != nil {
			return nil, fmt.Errorf("run outbox: destination %q is there twice", name)
		}
		lanes[name] = o.lane(name)
	}
	o.lanes, o.running = lanes, true
	return slices.Sorted(maps.Keys(lanes)), nil
}

// lane gives the destination's lane, made from its cursor if there is none.
func (o *Outbox) lane(name string) *lane {
	if l := o.lanes[name]; l != nil {
		return l
	}
	cursor := o.cursors[name]
	l := &lane{cursor: cursor, saved: cursor, wake: make(chan struct{}, 1)}
	for _, w := range o.queue {
		if w.posted {
			l.posted(w.ID)
		}
	}
	return l
}

func (o *Outbox) close() {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.running = false
}

// insert puts a notice where its id belongs, unless it is there.
func (o *Outbox) insert(w queued) bool {
	i, found := o.find(w.ID)
	if found {
		return false
	}
	o.queue = slices.Insert(o.queue, i, w)
	return true
}

// find gives the index of the notice with this id, or where it would stand.
func (o *Outbox) find(id uint64) (int, bool) {
	return slices.BinarySearchFunc(o.queue, id, func(w queued, id uint64) int {
		switch {
		case w.ID < id:
			return -1
		case w.ID > id:
			return 1
		}
		return 0
	})
}

// after gives the index of the first notice past a cursor.
func (o *Outbox) after(cursor uint64) int {
	i, found := o.find(cursor)
	if found {
		i++
	}
	return i
}

// nudge wakes whoever waits on the channel, now or next time.
func nudge(wake chan struct{}) {
	select {
	case wake <- struct{}{}:
	default:
	}
}
