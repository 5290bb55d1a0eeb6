package monitor

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// A Refusal says why a change does not make sense. Nothing was changed.
type Refusal struct {
	Field string // of the change, "" for the whole
	Text  string // a sentence for the keeper
}

// Error gives the sentence.
func (r *Refusal) Error() string { return r.Text }

// doDeadline is how long a change waits for the disk before its maker is told
// that it is not kept.
const doDeadline = 10 * time.Second

// Do makes one change. An entry is checked, made durable and then made true,
// one at a time; while one waits for the disk the tick goes on. What a person
// does about an alert is true at once and durable as soon as the disk takes
// it: see perform. It returns a *Refusal for a change that makes no sense,
// another error when an entry could not be kept.
func (m *Monitor) Do(ctx context.Context, c Change) (Done, error) {
	switch {
	case c.Entry != nil:
		return m.enter(ctx, *c.Entry)
	case c.Acknowledge != nil:
		return m.perform(c.Acknowledge.deed())
	case c.Shelve != nil:
		return m.perform(c.Shelve.deed())
	case c.Unshelve != nil:
		return m.perform(c.Unshelve.deed())
	case c.ClockOffer != nil:
		return Done{}, m.takeClock(*c.ClockOffer)
	}
	return Done{}, &Refusal{Text: "an empty change changes nothing"}
}

// enter writes an entry into the book.
func (m *Monitor) enter(ctx context.Context, e book.Entry) (Done, error) {
	m.door.Lock()
	defer m.door.Unlock()
	ctx, cancel := context.WithTimeout(ctx, doDeadline)
	defer cancel()
	e, done, err := m.admit(e)
	if err != nil || done.Duplicate {
		return done, err
	}
	if err := m.keep(ctx, e); err != nil {
		return Done{}, err
	}
	return Done{Entry: e}, nil
}

// admit completes an entry and checks it against the book.
func (m *Monitor) admit(e book.Entry) (book.Entry, Done, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if seq, again := m.requests[e.Request]; again && e.Request != "" {
		i := slices.IndexFunc(m.entries, func(x book.Entry) bool { return x.Seq == seq })
		if i < 0 {
			return e, Done{}, &Refusal{Text: "this is being written down: the disk is slow, wait for it"}
		}
		return e, Done{Entry: m.entries[i], Duplicate: true}, nil
	}
	if book.OfAlert(e.Kind) {
		return e, Done{}, &Refusal{Field: "kind", Text: "acknowledge or shelve the alert itself: the book " +
			"then says so"}
	}
	if !m.clock.trusted {
		return e, Done{}, &Refusal{Field: "at", Text: "the clock is not set yet, so this would be written down " +
			"under a wrong date: open the page and let it take this device's time"}
	}
	e.Made = m.clock.now.Truncate(time.Second)
	if e.At.IsZero() {
		e.At = e.Made
	}
	if e.Zone == "" {
		e.Zone = m.opt.Zone
	}
	e.At = e.At.UTC().Round(0)
	if err := book.Check(m.book, e); err != nil {
		return e, Done{}, refuse(err)
	}
	if err := allowed(e); err != nil {
		return e, Done{}, err
	}
	e.Seq = m.takeID()
	if e.Request != "" {
		m.requests[e.Request] = e.Seq
	}
	return e, Done{}, nil
}

// keep makes an entry durable and then true. When the disk answers too late
// for its maker it becomes true all the same, at that time.
func (m *Monitor) keep(ctx context.Context, e book.Entry) error {
	written := m.commit.ask("entry", func(ctx context.Context) error {
		err := m.opt.Store.CommitBook(ctx, []book.Entry{e}, alerts.Changes{})
		m.learn(e, err == nil)
		return err
	})
	select {
	case err := <-written:
		if err != nil {
			return fmt.Errorf("write the entry down: %w", err)
		}
		return nil
	case <-ctx.Done():
		return fmt.Errorf("write the entry down: the disk does not answer; "+
			"look for it in the book before entering it again: %w", ctx.Err())
	}
}

// learn folds a durable entry into the room, or forgets one that could not be
// kept.
func (m *Monitor) learn(e book.Entry, kept bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if !kept {
		delete(m.requests, e.Request)
		return
	}
	m.insert(e)
	m.republish()
}

func (m *Monitor) takeClock(o ClockOffer) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.clock.trusted {
		return &Refusal{Field: "now", Text: "the clock is set already"}
	}
	if y := o.Now.Year(); y < 2024 || y > 2100 {
		return &Refusal{Field: "now", Text: fmt.Sprintf("%d is not a likely year", y)}
	}
	m.clock.offer(o.Now)
	m.opt.Log.Info("clock taken", "now", o.Now, "by", o.By)
	return nil
}

// refuse turns a package's own word of refusal into one for the keeper.
func refuse(err error) error {
	if p, ok := errors.AsType[*book.Problem](err); ok {
		return &Refusal{Field: p.Field, Text: p.Text}
	}
	return &Refusal{Text: err.Error()}
}
