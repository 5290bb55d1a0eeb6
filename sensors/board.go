package sensors

import (
	"context"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"time"
)

// contactEvery is how often a contact is told of that does not say so itself.
const contactEvery = 10 * time.Second

// A Board gathers what contacts say until it is asked, as a Bank does of
// probes. Whoever reads them runs beside it and pushes. Its methods may be
// called from several goroutines.
type Board struct {
	log *slog.Logger

	mu      sync.Mutex
	known   map[string]Contact
	last    map[string]Cause
	pending []ContactOutcome
}

// NewBoard gives a board without contacts.
func NewBoard(log *slog.Logger) *Board {
	return &Board{log: log, known: map[string]Contact{}, last: map[string]Cause{}}
}

// Announce lists a contact, in place of an earlier one with its id.
func (b *Board) Announce(c Contact) {
	if c.Interval <= 0 {
		c.Interval = contactEvery
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.known[c.ID] = c
}

// Push takes what a contact said. A zero Time is now. One that nobody
// announced is not listened to. Where nobody asks, the oldest go: of a contact
// the newest state is what matters.
func (b *Board) Push(o ContactOutcome) {
	if o.Time.IsZero() {
		o.Time = time.Now().UTC()
	}
	if o.Fault != nil {
		o.On, o.Detail = false, ""
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if _, ok := b.known[o.Contact]; !ok {
		return
	}
	if len(b.pending) >= backlog {
		b.pending = b.pending[1:]
	}
	b.pending = append(b.pending, o)
	b.tell(o)
}

// tell logs a fault when it comes and when it goes. Caller holds mu.
func (b *Board) tell(o ContactOutcome) {
	var cause Cause
	if o.Fault != nil {
		cause = o.Fault.Cause
	}
	before := b.last[o.Contact]
	b.last[o.Contact] = cause
	switch {
	case cause == before:
	case cause == "":
		b.log.Info("contact reads again", "contact", o.Contact, "after", before)
	default:
		b.log.Warn("contact gives no state", "contact", o.Contact, "cause", cause, "err", o.Fault.Err)
	}
}

// Contacts lists every contact, by id.
func (b *Board) Contacts() []Contact {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := make([]Contact, 0, len(b.known))
	for _, c := range b.known {
		all = append(all, c)
	}
	slices.SortFunc(all, func(x, y Contact) int { return strings.Compare(x.ID, y.ID) })
	return all
}

// SampleContacts gives what has arrived since it was last asked, oldest first,
// and never waits. It needs neither ctx nor now.
func (b *Board) SampleContacts(_ context.Context, _ time.Time) []ContactOutcome {
	b.mu.Lock()
	got := b.pending
	b.pending = nil
	b.mu.Unlock()
	slices.SortStableFunc(got, func(x, y ContactOutcome) int { return x.Time.Compare(y.Time) })
	return got
}
