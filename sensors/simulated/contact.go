package simulated

import (
	"context"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A Contact is a yes/no input of the room. Mains are there but for a Tripped
// of their place; a door is open while an Open of its place lasts, and once a
// day, too short to cool what lies behind it; a leak contact is dry.
type Contact struct {
	sensors.Contact // Interval and Source are filled in
	Place           string
	Hour            float64 // UTC, at which somebody opens the door
	For             time.Duration
}

// contactGrid is how finely a call that leaps looks for what changed meanwhile.
const contactGrid = 30 * time.Second

// Contacts lists every contact.
func (r *Room) Contacts() []sensors.Contact {
	out := make([]sensors.Contact, len(r.spec.Contacts))
	for i, c := range r.spec.Contacts {
		out[i] = c.Contact
		out[i].Interval, out[i].Source = r.spec.interval(), "simulated"
	}
	return out
}

// SampleContacts gives what every contact said up to now, oldest first: each
// change since it was last asked, an hour back at most, and the state at now.
func (r *Room) SampleContacts(_ context.Context, now time.Time) []sensors.ContactOutcome {
	r.mu.Lock()
	defer r.mu.Unlock()
	from := r.heard
	if hour := now.Add(-time.Hour); from.Before(hour) {
		from = hour
	}
	var out []sensors.ContactOutcome
	last := make([]bool, len(r.spec.Contacts))
	for i, c := range r.spec.Contacts {
		last[i] = r.contactOn(c, from)
	}
	for t := from.Truncate(contactGrid).Add(contactGrid); t.Before(now); t = t.Add(contactGrid) {
		for i, c := range r.spec.Contacts {
			if on := r.contactOn(c, t); on != last[i] {
				last[i] = on
				out = append(out, sensors.ContactOutcome{Contact: c.ID, Time: t, On: on})
			}
		}
	}
	for _, c := range r.spec.Contacts {
		out = append(out, sensors.ContactOutcome{Contact: c.ID, Time: now, On: r.contactOn(c, now)})
	}
	r.heard = now
	return out
}

// contactOn is the contact's state at t. Caller holds mu.
func (r *Room) contactOn(c Contact, t time.Time) bool {
	switch c.Kind {
	case incubation.Mains:
		return !r.broken(Tripped, c.Place, t)
	case incubation.Door:
		since := time.Duration((hour(t) - c.Hour) * float64(time.Hour))
		if since < 0 {
			since += 24 * time.Hour
		}
		return since < c.For || r.broken(Open, c.Place, t)
	}
	return false
}
