package monitor

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// cooledBy is how far under its setpoint an incubator behind an open door
// makes that critical, K: where "too-cool" begins.
const cooledBy = 2

// ofContacts judges the contacts themselves: doors that stand open, water, and
// contacts that tell nothing. What the mains do to the eggs is judged with the
// places.
func (m *Monitor) ofContacts(now time.Time, room look, look func(alerts.Rule, alerts.Observation)) {
	for _, c := range room.contacts {
		place, placed := placeIn(room.places, c.Place)
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.ContactSubject, ID: c.ID, Name: contactName(c, place)},
			Known:   c.Sure(), Beyond: c.On,
		}
		if placed && place.Kind != incubation.Room {
			o.Eggs, o.Marks = place.Eggs, m.marks(place.Eggs)
		}
		if c.Kind != incubation.Door { // its name says where it is
			o.Place = m.book.Path(c.Place, now)
		}
		switch {
		case c.Kind == incubation.Leak:
			look(m.rule("leak"), o)
		case c.Kind == incubation.Door && place.Kind == incubation.Incubator:
			look(m.rule("door-open"), m.cooledBehind(o, place, room.places))
		case c.Kind == incubation.Door && place.Kind == incubation.Enclosure:
			look(m.rule("enclosure-open"), o)
		}
		look(m.rule("contact-silent"), m.ofSilence(o, c, now))
	}
}

// ofSilence observes for how long a contact has told no state. Mains and leaks
// have no other that speaks for them; a door is seen by whoever opens it.
func (m *Monitor) ofSilence(o alerts.Observation, c ContactNow, now time.Time) alerts.Observation {
	s := m.contacts[c.ID]
	o.Known = true
	o.Value = ptr(now.Sub(s.heard()).Seconds())
	o.High = ptr(max(s.patience(), 5*time.Minute).Seconds())
	if c.Kind == incubation.Door {
		o.Severity = alerts.Info
	}
	if c.Fault != "" {
		o.Detail = "Last fault: " + string(c.Fault) + "."
	}
	return o
}

// cooledBehind makes an open door critical once what is behind it has cooled,
// and says so.
func (m *Monitor) cooledBehind(o alerts.Observation, in PlaceNow, all []PlaceNow) alerts.Observation {
	coolest := in
	for _, p := range all {
		if p.In == in.ID && p.Coolest != nil && p.Setpoint != nil &&
			(coolest.Coolest == nil || *p.Coolest < *coolest.Coolest) {
			coolest = p
		}
	}
	if coolest.Coolest == nil || coolest.Setpoint == nil {
		return o
	}
	under := float64(*coolest.Setpoint - *coolest.Coolest)
	if under >= cooledBy && len(o.Eggs) > 0 {
		o.Severity = alerts.Critical
		o.Detail = fmt.Sprintf("%s is down to %s, %s under its setpoint.", coolest.Name,
			alerts.Amount(float64(*coolest.Coolest), "celsius", m.scale()), alerts.Difference(under, m.scale()))
	}
	return o
}

func placeIn(places []PlaceNow, id string) (PlaceNow, bool) {
	i := slices.IndexFunc(places, func(p PlaceNow) bool { return p.ID == id })
	if i < 0 {
		return PlaceNow{}, false
	}
	return places[i], true
}

// contactName is what people call a contact: by its place, for one place has
// one door.
func contactName(c ContactNow, place PlaceNow) string {
	switch {
	case c.Kind == incubation.Door && place.Name != "":
		return "door of " + place.Name
	case c.Kind == incubation.Leak:
		return "leak contact " + c.ID
	}
	return strings.TrimSpace(string(c.Kind) + " contact " + c.ID)
}
