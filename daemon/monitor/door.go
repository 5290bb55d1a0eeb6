package monitor

import (
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

const (
	// settleDoor is how long after its door was open being off the setpoint
	// means nothing.
	settleDoor = 30 * time.Minute
	// settleDoorMost is how long openings one after another keep rules
	// waiting: a contact that sticks or chatters must not silence them.
	// Judgement: longer than candling a full incubator takes.
	settleDoorMost = 90 * time.Minute
)

// A doorWatch remembers when a door was open.
type doorWatch struct {
	first  time.Time // the opening that began this run of them; see settleDoor
	opened time.Time // the newest opening
	last   time.Time // when it was last seen open
	open   bool
}

func (w *doorWatch) see(open bool, t time.Time) {
	if open && !w.open {
		if w.last.IsZero() || t.Sub(w.last) > settleDoor {
			w.first = t
		}
		w.opened = t
	}
	if open || w.open { // it was open until it was seen shut
		w.last = t
	}
	w.open = open
}

// settles is when the place behind the door has settled; zero: it was not
// opened.
func (w *doorWatch) settles() time.Time {
	if w.first.IsZero() {
		return time.Time{}
	}
	end, most := w.last.Add(settleDoor), w.first.Add(settleDoorMost)
	if most.Before(end) {
		return most
	}
	return end
}

// doorOpened gives when the door of a place, or of what it stands in, was last
// opened, and whether that is so short ago that its temperature still tells
// of the opening. A room's door is none of these.
func (m *Monitor) doorOpened(place string, now time.Time) (time.Time, bool) {
	var opened, end time.Time
	for _, w := range m.doorsOf(place, now) {
		opened, end = later(opened, w.opened), later(end, w.settles())
	}
	return opened, now.Before(end)
}

// doorSettles is when a place has settled after its door was opened.
func (m *Monitor) doorSettles(place string, now time.Time) time.Time {
	var end time.Time
	for _, w := range m.doorsOf(place, now) {
		end = later(end, w.settles())
	}
	return end
}

// doorTold reports whether an alert says already that the door of a place, or
// of what it stands in, is open: that it cools is no second message, and makes
// that one critical.
func (m *Monitor) doorTold(place string) bool {
	for _, p := range m.book.Around(place, m.clock.now) {
		for id := range m.contacts {
			if at, ok := m.book.ContactAt(id, m.clock.now); !ok || at.Stay.Place != p.ID {
				continue
			}
			door := alerts.Subject{Kind: alerts.ContactSubject, ID: id}
			if m.states[alerts.AlertID("door-open", door)].Told() {
				return true
			}
		}
	}
	return false
}

func (m *Monitor) doorsOf(place string, now time.Time) []*doorWatch {
	var out []*doorWatch
	for _, p := range m.book.Around(place, now) {
		if p.Kind == incubation.Room {
			continue
		}
		for id, c := range m.contacts {
			if at, ok := m.book.ContactAt(id, now); ok && at.Stay.Place == p.ID && c.contact.Kind == incubation.Door {
				out = append(out, &c.door)
			}
		}
	}
	return out
}
