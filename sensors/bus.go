package sensors

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"time"
)

// A bus is the wires that some sensors share. Two goroutines serve it: the
// owner makes the calls, one after the other, and may hang in one; the watch
// hands out the turns and says what is missing when the owner hangs.
type bus struct {
	name  string
	log   *slog.Logger
	tell  func(Probe, Outcome)
	added chan struct{} // a sensor was put on the bus

	mu    sync.Mutex
	slots []*slot

	// of the watch alone
	busy  *slot     // whose Read is under way
	until time.Time // when that Read must have returned
	stuck bool      // it has not
}

func newBus(name string, log *slog.Logger, tell func(Probe, Outcome)) *bus {
	return &bus{name: name, log: log, tell: tell, added: make(chan struct{}, 1)}
}

func (b *bus) put(p Probe, s Sensor) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, old := range b.slots {
		if old.probe.ID == p.ID {
			old.probe, old.sensor = p, s
			old.serial++
			return
		}
	}
	b.slots = append(b.slots, &slot{probe: p, sensor: s, due: time.Now()})
	signal(b.added)
}

func (b *bus) remove(id string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for i, old := range b.slots {
		if old.probe.ID == id {
			b.slots = append(b.slots[:i:i], b.slots[i+1:]...)
			return
		}
	}
}

func (b *bus) probes() []Probe {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := make([]Probe, len(b.slots))
	for i, s := range b.slots {
		all[i] = s.probe
	}
	return all
}

// run is the watch. It ends with ctx, and the owner with it unless it hangs.
func (b *bus) run(ctx context.Context) {
	turns, done := make(chan turn), make(chan turn, 1)
	go own(ctx, turns, done)
	defer close(turns)
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		now := time.Now()
		if b.busy == nil {
			if next, ok := b.next(now); ok {
				turns <- next
			}
		} else if !now.Before(b.until) {
			b.complain(now)
		}
		timer.Reset(b.rest(now))
		select {
		case <-ctx.Done():
			b.leave(done)
			return
		case t := <-done:
			if ctx.Err() == nil {
				b.finish(t)
			}
		case <-b.added:
		case <-timer.C:
		}
	}
}

// next gives the turn that is due longest, if any, and takes it.
func (b *bus) next(now time.Time) (turn, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	first := b.first()
	if first == nil || first.due.After(now) {
		return turn{}, false
	}
	first.advance(now)
	b.busy, b.until = first, now.Add(deadline)
	return turn{slot: first, sensor: first.sensor, serial: first.serial}, true
}

// first is the slot whose turn comes first, nil on an empty bus.
func (b *bus) first() *slot {
	var first *slot
	for _, s := range b.slots {
		if first == nil || s.due.Before(first.due) {
			first = s
		}
	}
	return first
}

// rest is how long there is nothing to do.
func (b *bus) rest(now time.Time) time.Duration {
	if b.busy != nil && !b.stuck {
		return b.until.Sub(now)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if first := b.first(); first != nil {
		return first.due.Sub(now)
	}
	return every
}

// complain says of the probe whose Read hangs that it timed out, at its
// deadline and then whenever it is due, and of the others that the bus is
// stuck when they are due.
func (b *bus) complain(now time.Time) {
	first := !b.stuck
	b.stuck = true
	b.mu.Lock()
	var missing []Outcome
	var of []Probe
	for _, s := range b.slots {
		mine := s == b.busy
		if s.due.After(now) && (!mine || !first) {
			continue
		}
		f := &Fault{Cause: BusStuck, Err: fmt.Errorf("%s waits for %s", b.name, b.busy.probe.ID)}
		if mine {
			f = &Fault{Cause: Timeout, Err: fmt.Errorf("no answer for %v", now.Sub(b.until)+deadline)}
		}
		s.due = now.Add(s.probe.Interval)
		missing, of = append(missing, Outcome{Time: now.UTC(), Fault: f}), append(of, s.probe)
	}
	b.mu.Unlock()
	if first {
		b.log.Warn("bus is stuck", "bus", b.name, "probe", b.busy.probe.ID)
	}
	for i, o := range missing {
		b.tell(of[i], o)
	}
}

// finish tells what a Read gave. Past the deadline only a reading is news: the
// timeout has been told.
func (b *bus) finish(t turn) {
	late := b.stuck
	b.busy, b.stuck = nil, false
	b.mu.Lock()
	if t.slot.serial == t.serial {
		t.probe.ID = t.slot.probe.ID
		t.slot.probe = t.probe
	}
	p := t.slot.probe
	b.mu.Unlock()
	if late {
		b.log.Info("bus goes on", "bus", b.name, "probe", p.ID)
	}
	o := Outcome{Time: t.at, Reading: t.reading}
	if t.err != nil {
		o.Fault = faultOf(p.ID, t.err)
	}
	if t.err == nil || !late {
		b.tell(p, o)
	}
}

// leave waits for a Read that is under way, unless it is stuck already, so
// that nobody closes a bus under it. What it gives is no news any more.
func (b *bus) leave(done <-chan turn) {
	if b.busy == nil || b.stuck {
		return
	}
	select {
	case <-done:
	case <-time.After(grace):
	}
}
