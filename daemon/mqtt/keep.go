package mqtt

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"time"
)

// Between tries at a broker, in the end a minute passes: often enough for an
// alert, seldom enough for a broker that starts slowly.
const (
	firstWait = 2 * time.Second // halved at most by jitter
	lastWait  = time.Minute
	// overdueWait is the longest while a notice waits: a broker that is back
	// is found within seconds.
	overdueWait = 5 * time.Second
	// settled is how long a connection must last to count as a good one.
	settled = time.Minute
)

// A line is one of a client's two connections, over all its lives.
type line struct {
	doing string // for the log
	// session is one life: it calls up when all is well, and returns why it
	// ended.
	session func(ctx context.Context, up func()) error
	hurry   <-chan struct{} // somebody waits for a connection; may be nil
	overdue func() bool     // somebody has waited for long; nil: nobody does
	log     *slog.Logger
}

// keep lives one life after the other until ctx ends.
func (n line) keep(ctx context.Context) {
	said := connectionLog{log: n.log.With("connection", n.doing)}
	wait := firstWait
	for ctx.Err() == nil {
		began := time.Now()
		err := n.session(ctx, said.up)
		if ctx.Err() != nil {
			return
		}
		said.down(err)
		if time.Since(began) >= settled {
			wait = firstWait
		}
		if n.overdue != nil && n.overdue() {
			wait = min(wait, overdueWait)
		}
		n.pause(ctx, jitter(wait))
		wait = min(2*wait, lastWait)
	}
}

// pause waits, but for no more than a second while a notice waits too: the
// outbox has its own patience, and ours must not be added to it.
func (n line) pause(ctx context.Context, wait time.Duration) {
	least := time.NewTimer(min(wait, time.Second))
	defer least.Stop()
	select {
	case <-least.C:
	case <-ctx.Done():
		return
	}
	rest := time.NewTimer(max(0, wait-time.Second))
	defer rest.Stop()
	select {
	case <-rest.C:
	case <-n.hurry:
	case <-ctx.Done():
	}
}

// jitter gives between half of d and all of it.
func jitter(d time.Duration) time.Duration { return d/2 + rand.N(d/2+1) }

// A connectionLog tells of changes only: a broker that is away for a night
// makes one line, not a thousand.
type connectionLog struct {
	log  *slog.Logger
	last string // cause of the present outage; "": there is none
}

func (l *connectionLog) up() {
	l.last = ""
	l.log.Info("broker connected")
}

func (l *connectionLog) down(err error) {
	if cause := causeOf(err); cause != l.last {
		l.last = cause
		l.log.Warn("broker not reachable", "cause", cause)
	}
}

// causeOf gives the error in a sentence, without the port numbers that differ
// each time.
func causeOf(err error) string {
	if err == nil {
		return "connection ended"
	}
	return why(err)
}
