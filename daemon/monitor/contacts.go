package monitor

import (
	"context"
	"maps"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A ContactSampler gives what the contacts said since it was last asked.
//
// SampleContacts must not wait: it returns what has arrived, each outcome with
// its own time, oldest first. Contacts lists every contact it knows.
type ContactSampler interface {
	Contacts() []sensors.Contact
	SampleContacts(ctx context.Context, now time.Time) []sensors.ContactOutcome
}

// A contactState is what the monitor knows of one contact.
type contactState struct {
	contact sensors.Contact // only its ID and Kind until it is found
	found   bool            // the sampler has told of it
	known   bool            // it has told a state since the start
	on      bool
	since   time.Time // when it was first heard in this state
	read    time.Time // when it last told a state
	seen    time.Time // first seen: silence is counted from here
	detail  string
	fault   sensors.Cause // of the newest try, "" if it gave a state
	door    doorWatch
}

// A ContactNow is a contact at the last tick.
type ContactNow struct {
	sensors.Contact
	Place string // the place it tells of; "": none yet
	// Known: On, Since and Detail are what it said last. While Stale or with a
	// Fault they are what it said before, and say nothing of now.
	Known  bool
	On     bool
	Since  time.Time // when it was first heard in this state
	Detail string
	Read   time.Time // when it last told a state; zero: never
	Fault  sensors.Cause
	Stale  bool
}

// Sure reports whether the state is that of now.
func (c ContactNow) Sure() bool { return c.Known && !c.Stale && c.Fault == "" }

// State gives the state in a word of its kind: "open", "present", "wet", or
// "unknown" where nothing says what it is now.
func (c ContactNow) State() string {
	if !c.Sure() {
		return "unknown"
	}
	return c.Kind.State(c.On)
}

// takeContacts learns of contacts and of what they said. One that the book has
// in a place counts from the start, found or not, as a probe does.
func (m *Monitor) takeContacts(ctx context.Context, at Instant) {
	now := m.clock.now
	for _, c := range m.book.Contacts {
		if c.Stay.Covers(now) {
			m.contactState(c.Contact, now).assume(c.Kind)
		}
	}
	if m.opt.Contacts == nil {
		return
	}
	outcomes := m.opt.Contacts.SampleContacts(ctx, at.Wall)
	for _, c := range m.opt.Contacts.Contacts() {
		s := m.contactState(c.ID, now)
		s.contact, s.found = c, true
	}
	for _, o := range outcomes {
		if s := m.contacts[o.Contact]; s != nil {
			s.take(o, now.Add(-max(0, at.Wall.Sub(o.Time))).Round(0).UTC())
		}
	}
}

func (m *Monitor) contactState(id string, now time.Time) *contactState {
	s := m.contacts[id]
	if s == nil {
		s = &contactState{contact: sensors.Contact{ID: id}, seen: now}
		m.contacts[id] = s
	}
	return s
}

// assume takes the book's word for what kind it is until it is found.
func (s *contactState) assume(kind incubation.ContactKind) {
	if !s.found {
		s.contact.Kind = kind
	}
}

// take takes what the contact said at t. A fault leaves the state as it was:
// held, and no longer sure.
func (s *contactState) take(o sensors.ContactOutcome, t time.Time) {
	if o.Fault != nil {
		s.fault = o.Fault.Cause
		return
	}
	if !s.known || s.on != o.On {
		s.since = t
	}
	s.known, s.on, s.read, s.detail, s.fault = true, o.On, t, o.Detail, ""
	if s.contact.Kind == incubation.Door {
		s.door.see(o.On, t)
	}
}

// patience is how long a contact may be silent: five of its own intervals, at
// least a minute.
func (s *contactState) patience() time.Duration {
	return max(5*s.contact.Interval, time.Minute)
}

// heard is what its silence is counted from.
func (s *contactState) heard() time.Time {
	if s.read.IsZero() {
		return s.seen
	}
	return s.read
}

// sure reports whether its state is that of now.
func (s *contactState) sure(now time.Time) bool {
	return s.known && s.fault == "" && now.Sub(s.read) <= s.patience()
}

// shift moves its times when the clock is set.
func (s *contactState) shift(d time.Duration) {
	for _, t := range []*time.Time{&s.since, &s.read, &s.seen, &s.door.first, &s.door.opened, &s.door.last} {
		if !t.IsZero() {
			*t = t.Add(d)
		}
	}
}

// contactsNow gives the contacts that are found or in the book, by id.
func (m *Monitor) contactsNow(now time.Time) []ContactNow {
	out := make([]ContactNow, 0, len(m.contacts))
	for _, id := range slices.Sorted(maps.Keys(m.contacts)) {
		s := m.contacts[id]
		at, placed := m.book.ContactAt(id, now)
		if !s.found && !placed {
			continue
		}
		out = append(out, ContactNow{
			Contact: s.contact, Place: at.Stay.Place, Known: s.known, On: s.on, Since: s.since,
			Detail: s.detail, Read: s.read, Fault: s.fault, Stale: now.Sub(s.heard()) > s.patience(),
		})
	}
	return out
}
