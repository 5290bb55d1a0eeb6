package monitor

import (
	"fmt"
	"time"

	"clutchd/alerts"
)

// A ServiceNow says that a place is out of service now.
type ServiceNow struct {
	Of          string // id of the place that was taken out: itself, or what it stands in
	Name        string // that place's name
	From, Until time.Time
	Why         string // "": not said
}

func (m *Monitor) serviceNow(place string, now time.Time) *ServiceNow {
	v, of := m.book.ServiceAt(place, now)
	if of == "" {
		return nil
	}
	return &ServiceNow{Of: of, Name: m.book.Places[of].Name, From: v.From, Until: v.Until, Why: v.Why}
}

// outages are the places that are out of service in one tick, with what is in
// them: most rules do not judge those.
type outages struct {
	m       *Monitor
	places  map[string]PlaceNow // out of service
	probes  map[string]string   // to their place
	contact map[string]ContactNow
}

func (m *Monitor) outagesOf(room look) outages {
	out := outages{m: m, places: map[string]PlaceNow{}}
	for _, p := range room.places {
		if p.Service != nil {
			out.places[p.ID] = p
		}
	}
	if len(out.places) == 0 {
		return out
	}
	out.probes, out.contact = map[string]string{}, map[string]ContactNow{}
	for _, p := range room.probes {
		out.probes[p.ID] = p.Place
	}
	for _, c := range room.contacts {
		out.contact[c.ID] = c
	}
	return out
}

// about gives the place out of service that a subject is, or is in.
func (o outages) about(s alerts.Subject) (PlaceNow, bool) {
	id := s.ID
	switch s.Kind {
	case alerts.PlaceSubject:
	case alerts.ProbeSubject:
		id = o.probes[s.ID]
	case alerts.ContactSubject:
		id = o.contact[s.ID].Place
	default:
		return PlaceNow{}, false
	}
	p, ok := o.places[id]
	return p, ok
}

// silence reports whether a rule is not to be judged of the subject now.
func (o outages) silence(rule alerts.Rule, s alerts.Subject) bool {
	p, ok := o.about(s)
	return ok && !rule.Maintained.Judges(len(p.Eggs) > 0)
}

// withdrawn says in an alert that ended with its place's service why it did.
func (o outages) withdrawn(s alerts.State) alerts.State {
	p, ok := o.about(s.Subject)
	if !ok || s.Text == "" {
		return s
	}
	s.Text = capital(fmt.Sprintf("%s is out of service until %s: this is not judged until then.",
		p.Service.Name, p.Service.Until.In(o.m.zone).Format("Mon 2 Jan 15:04")))
	return s
}

// outOfService reports whether a rule is silent about a place because that is
// out of service.
func outOfService(r alerts.Rule, p PlaceNow) bool {
	return p.Service != nil && !r.Maintained.Judges(len(p.Eggs) > 0)
}
