package monitor

import (
	"context"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

const (
	// writeDeadline is how long a write may take before the store counts as
	// not writable. A card that hangs for longer has other troubles.
	writeDeadline = 10 * time.Second
	// keepReadings bounds what waits in memory while the disk fails: 28 hours
	// of 20 probes every 10 s, some 20 MB.
	keepReadings = 200_000
	// backupEvery is how old the newest copy of the book may become.
	backupEvery = 24 * time.Hour
	// finalFlush is how long a stop goes on writing. A call that hangs in the
	// kernel is waited for all the same: nothing can break it off.
	finalFlush = 5 * time.Second
)

// A committer brings what the tick found to the disk beside the tick: nothing
// that judges or sends waits for it. A write that fails is tried again with
// what has come since.
type committer struct {
	store Store
	log   *slog.Logger
	wake  chan struct{}

	mu       sync.Mutex
	jobs     []job
	waiting  *waiting // not written yet
	writing  *waiting // being written now, or nil
	readings []incubation.Reading
	untimed  []incubation.Untimed
	flush    bool // readings are due
	dropped  int
	began    time.Time // of the store call that runs now; zero: none runs
	fault    string
}

// A job is one thing to do to the store, in the order of asking.
type job struct {
	what string
	do   func(ctx context.Context) error // nil: write everything that waits
	done chan error                      // buffered: nobody need listen
}

func newCommitter(store Store, log *slog.Logger) *committer {
	return &committer{
		store: store, log: log, wake: make(chan struct{}, 1), waiting: newWaiting(),
	}
}

// ask queues a job and returns the channel its result comes on.
func (c *committer) ask(what string, do func(context.Context) error) <-chan error {
	j := job{what: what, do: do, done: make(chan error, 1)}
	c.mu.Lock()
	c.jobs = append(c.jobs, j)
	c.mu.Unlock()
	c.signal()
	return j.done
}

// told queues what changed about the alerts, and entries about it: they reach
// the disk together.
func (c *committer) told(entries []book.Entry, changes alerts.Changes) {
	if len(entries) == 0 && changes.None() {
		return
	}
	c.mu.Lock()
	c.waiting.add(entries, changes)
	c.mu.Unlock()
	c.signal()
}

// pastWaiting gives the past occurrences that may not be on the disk yet, by
// occurrence.
func (c *committer) pastWaiting() map[string]alerts.State {
	c.mu.Lock()
	defer c.mu.Unlock()
	all := map[string]alerts.State{}
	if c.writing != nil {
		maps.Copy(all, c.writing.past)
	}
	maps.Copy(all, c.waiting.past)
	return all
}

// read queues readings; they are written when a flush is due.
func (c *committer) read(rs []incubation.Reading, us []incubation.Untimed) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.readings = append(c.readings, rs...)
	c.untimed = append(c.untimed, us...)
	if n := len(c.readings) - keepReadings; n > 0 {
		c.readings = slices.Delete(c.readings, 0, n)
		c.dropped += n
	}
	if n := len(c.untimed) - keepReadings; n > 0 {
		c.untimed = slices.Delete(c.untimed, 0, n)
		c.dropped += n
	}
}

// flushDue says that the waiting readings are to be written now.
func (c *committer) flushDue() {
	c.flushNow()
	c.signal()
}

func (c *committer) flushNow() {
	c.mu.Lock()
	c.flush = true
	c.mu.Unlock()
}

func (c *committer) signal() {
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// state says why the store cannot be written, "" while it can.
func (c *committer) state(now time.Time) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.began.IsZero() && now.Sub(c.began) > writeDeadline {
		return fmt.Sprintf("a write has not returned for %s", now.Sub(c.began).Round(time.Second))
	}
	if c.dropped > 0 && c.fault != "" {
		return fmt.Sprintf("%s; %d readings are lost for want of memory", c.fault, c.dropped)
	}
	return c.fault
}

// run writes until ctx ends, then once more what is left.
func (c *committer) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			last, cancel := context.WithTimeout(context.WithoutCancel(ctx), finalFlush)
			defer cancel()
			c.flushNow()
			c.round(last)
			return
		case <-c.wake:
			c.round(ctx)
		}
	}
}

// round does the jobs, then the alerts, then the readings if they are due.
func (c *committer) round(ctx context.Context) {
	for {
		j, ok := c.nextJob()
		if !ok {
			break
		}
		if j.do == nil {
			c.flushNow()
			c.commitAlerts(ctx)
			j.done <- c.commitReadings(ctx)
			continue
		}
		j.done <- c.call(j.what, func() error { return j.do(ctx) })
	}
	c.commitAlerts(ctx)
	c.commitReadings(ctx)
}

func (c *committer) nextJob() (job, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.jobs) == 0 {
		return job{}, false
	}
	j := c.jobs[0]
	c.jobs = c.jobs[1:]
	return j, true
}

// call runs one store call, times it for state and keeps its fault.
func (c *committer) call(what string, do func() error) error {
	c.mu.Lock()
	within := !c.began.IsZero() // a job's own call
	c.began = time.Now()
	c.mu.Unlock()
	err := do()
	c.mu.Lock()
	defer c.mu.Unlock()
	c.began = time.Time{}
	if within {
		c.began = time.Now() // the job goes on
	}
	before := c.fault
	if c.fault = ""; err != nil {
		c.fault = err.Error()
	}
	if c.fault != before {
		c.log.Warn("store", "doing", what, "fault", c.fault)
	}
	return err
}

func (c *committer) commitAlerts(ctx context.Context) {
	c.mu.Lock()
	if c.waiting.none() {
		c.mu.Unlock()
		return
	}
	w := c.waiting
	c.waiting, c.writing = newWaiting(), w
	c.mu.Unlock()
	err := c.call("alerts", func() error {
		return c.store.CommitBook(ctx, w.entries, w.changes())
	})
	c.mu.Lock()
	defer c.mu.Unlock()
	c.writing = nil
	if err != nil {
		w.add(c.waiting.entries, c.waiting.changes())
		c.waiting = w
	}
}

func (c *committer) commitReadings(ctx context.Context) error {
	c.mu.Lock()
	if !c.flush {
		c.mu.Unlock()
		return nil
	}
	rs, us := c.readings, c.untimed
	c.readings, c.untimed, c.flush = nil, nil, false
	c.mu.Unlock()
	var failed error
	if len(us) > 0 {
		failed = c.call("staged readings", func() error { return c.store.Stage(ctx, us) })
		if failed != nil {
			c.mu.Lock()
			c.untimed, c.flush = append(us, c.untimed...), true
			c.mu.Unlock()
		}
	}
	if len(rs) > 0 {
		err := c.call("readings", func() error { return c.store.Append(ctx, rs) })
		if err != nil {
			c.mu.Lock()
			c.readings, c.flush = append(rs, c.readings...), true
			c.mu.Unlock()
			failed = err
		}
	}
	return failed
}
