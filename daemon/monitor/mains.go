package monitor

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// A Supply is what the contacts tell of the mains somewhere.
type Supply struct {
	// Known: what follows is so now. Without it Off is what was last told: a
	// contact that fails in a power cut has not brought the mains back.
	Known bool
	Off   bool
	Since time.Time // when they were first told to be off
}

// mainsAt tells of the mains of a place: those of the room, and those of its
// own or of what it stands in. Place "": of the room alone. One contact that
// says off is enough: a missed power cut costs more than a false one. Mains
// are known to be there only while every contact of theirs says so; where
// there is no contact nothing is known.
func (m *Monitor) mainsAt(place string, now time.Time) Supply {
	var s Supply
	heard, sureOff := 0, false
	missing := false
	for _, c := range m.contacts {
		if c.contact.Kind != incubation.Mains || !m.feeds(c.contact.ID, place, now) {
			continue
		}
		heard++
		sure := c.sure(now)
		missing = missing || !sure
		if !c.known || c.on {
			continue
		}
		sureOff = sureOff || sure
		if !s.Off || c.since.Before(s.Since) {
			s.Off, s.Since = true, c.since
		}
	}
	s.Known = heard > 0 && !missing
	if s.Off {
		s.Known = sureOff
	}
	return s
}

// feeds reports whether a contact tells of the mains of a place. One that the
// book has in no place yet tells of the whole room: it is not to be missed.
func (m *Monitor) feeds(contact, place string, now time.Time) bool {
	at, placed := m.book.ContactAt(contact, now)
	if !placed {
		return m.contacts[contact].found
	}
	tells := m.book.Places[at.Stay.Place]
	around := m.book.Around(place, now)
	if slices.Contains(around, tells) {
		return true
	}
	// Incubators need not be entered as standing in the room.
	inRoom := slices.ContainsFunc(around, func(p *incubation.Place) bool { return p.Kind == incubation.Room })
	return tells.Kind == incubation.Room && !inRoom
}
