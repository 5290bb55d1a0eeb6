package alerts

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"time"
)

// Waits of the outbox. A publish that takes longer than publishTimeout has
// failed; a cursor that could not be stored is tried again after keepRetry.
const (
	publishTimeout = 30 * time.Second
	keepTimeout    = 10 * time.Second
	keepRetry      = time.Minute
	finalSave      = 3 * time.Second // when told to stop
	maxBackoff     = time.Minute
)

// A lane is one destination's way through the outbox. The outbox's mutex
// guards it.
type lane struct {
	cursor uint64   // it has every notice up to this id, but for those in late
	late   []uint64 // ids below the cursor that were posted after it, rising
	saved  uint64   // the cursor that the keeper has
	// confirmed counts what the destination has confirmed.
	confirmed uint64
	wake      chan struct{}
}

// posted notes a notice that came after the cursor had passed its id.
func (l *lane) posted(id uint64) {
	if id > l.cursor {
		return
	}
	if i, found := slices.BinarySearch(l.late, id); !found {
		l.late = slices.Insert(l.late, i, id)
	}
}

// forget takes a notice off the late ones.
func (l *lane) forget(id uint64) {
	if i, found := slices.BinarySearch(l.late, id); found {
		l.late = slices.Delete(l.late, i, i+1)
	}
}

// deliver is the worker of one destination.
func (o *Outbox) deliver(ctx context.Context, p Publisher) {
	name := p.Destination()
	log := o.log.With("destination", name)
	fails := 0
	for ctx.Err() == nil {
		n, wake, ok := o.next(name)
		if !ok {
			wait(ctx, wake, nil)
			continue
		}
		if err := publish(ctx, p, n); err != nil {
			if fails++; fails == 1 && ctx.Err() == nil {
				log.Warn("destination does not take notices", "notice", n.ID, "err", err)
			}
			wait(ctx, reachable(p, err), time.After(backoff(fails)))
			continue
		}
		if fails > 0 {
			log.Info("destination takes notices again", "notice", n.ID, "tries", fails+1)
		}
		fails = 0
		o.confirmed(name, n.ID)
	}
}

// reachable gives what ends the wait early: that a far side which could not be
// reached can be.
func reachable(p Publisher, err error) <-chan struct{} {
	if c, ok := p.(Connector); ok && errors.Is(err, ErrUnreachable) {
		return c.Connected()
	}
	return nil
}

func publish(ctx context.Context, p Publisher, n Notice) error {
	ctx, cancel := context.WithTimeout(ctx, publishTimeout)
	defer cancel()
	return p.Publish(ctx, n)
}

// next gives the oldest notice that the destination lacks, and the channel
// that speaks when there may be one.
func (o *Outbox) next(name string) (Notice, chan struct{}, bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	l := o.lanes[name]
	i := o.after(l.cursor)
	if len(l.late) > 0 {
		i, _ = o.find(l.late[0])
	}
	if i == len(o.queue) {
		return Notice{}, l.wake, false
	}
	return o.queue[i].Notice, l.wake, true
}

// confirmed moves the destination's cursor and drops what nobody lacks.
func (o *Outbox) confirmed(name string, id uint64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	l := o.lanes[name]
	l.forget(id)
	l.confirmed++
	if id > l.cursor {
		l.cursor = id
		nudge(o.saving)
	}
	o.trim()
}

// trim drops the notices at the head of the queue that no lane lacks.
func (o *Outbox) trim() {
	n := len(o.queue)
	for _, l := range o.lanes {
		n = min(n, o.after(l.cursor))
		if len(l.late) > 0 {
			i, _ := o.find(l.late[0])
			n = min(n, i)
		}
	}
	clear(o.queue[:n])
	o.queue = o.queue[n:]
}

// keep stores the cursors as they move, and once more when ctx ends. A disk
// that fails or hangs holds up nothing but itself.
func (o *Outbox) keep(ctx context.Context, dests []string) {
	for failing := false; ctx.Err() == nil; {
		var again <-chan time.Time
		if failing {
			again = time.After(keepRetry)
		}
		wait(ctx, o.saving, again)
		if ctx.Err() == nil {
			failing = !o.save(ctx, dests, keepTimeout, failing)
		}
	}
	o.save(context.WithoutCancel(ctx), dests, finalSave, false)
}

// save offers every cursor that moved to the keeper, and reports whether it
// has them all. A failure is not logged if the one before was one too.
func (o *Outbox) save(ctx context.Context, dests []string, limit time.Duration, failing bool) bool {
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	ok := true
	for _, name := range dests {
		id, moved := o.unsaved(name)
		if !moved {
			continue
		}
		if err := o.keeper.Delivered(ctx, name, id, dests); err != nil {
			if ok && !failing {
				o.log.Warn("outbox cursor is not stored", "destination", name, "notice", id, "err", err)
			}
			ok = false
			continue
		}
		o.stored(name, id)
	}
	return ok
}

func (o *Outbox) unsaved(name string) (id uint64, moved bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	l := o.lanes[name]
	return l.cursor, l.cursor != l.saved
}

func (o *Outbox) stored(name string, id uint64) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.lanes[name].saved = id
}

// backoff doubles with the number of failures in a row from about a second
// to about a minute, less up to half of it, so that many do not knock
// together: 1–2 s, 2–4 s, … 30–60 s.
func backoff(fails int) time.Duration {
	d := maxBackoff
	if fails < 6 {
		d = min(d, time.Second<<fails)
	}
	return d/2 + rand.N(d/2+1)
}

// wait returns when ctx ends or one of the channels speaks; a nil channel
// never does.
func wait(ctx context.Context, wake <-chan struct{}, after <-chan time.Time) {
	select {
	case <-ctx.Done():
	case <-wake:
	case <-after:
	}
}
