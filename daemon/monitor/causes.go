package monitor

import (
	"slices"
	"time"

	"clutchd/alerts"
)

// causes finds, in one tick, the alerts that another one may lie behind. What
// is a cause is judged before what it causes: incubators before their boxes,
// and the rules in the order that they are declared in.
type causes struct {
	m        *Monitor
	now      time.Time
	outer    map[string]string          // by place: what it stands in
	contacts map[string][]string        // by place
	place    map[string]string          // by probe
	values   map[string]*float64        // by alert: what it was judged by in this tick
	anywhere map[string]map[string]bool // by rule of a reach Anywhere: alerts
	rules    map[string]*alerts.Rule    // by code, for their delays
	standing map[string]bool            // rules of which there is a state: in a calm room none
}

func (m *Monitor) causesOf(room look, now time.Time) *causes {
	c := &causes{
		m: m, now: now, outer: map[string]string{}, place: map[string]string{},
		contacts: map[string][]string{},
		values:   map[string]*float64{}, anywhere: map[string]map[string]bool{},
		rules:    map[string]*alerts.Rule{},
		standing: map[string]bool{},
	}
	for _, p := range room.places {
		c.outer[p.ID] = p.In
	}
	for _, p := range room.probes {
		c.place[p.ID] = p.Place
	}
	for _, t := range room.contacts {
		c.contacts[t.Place] = append(c.contacts[t.Place], t.ID)
	}
	for i, r := range m.rules {
		c.rules[r.Code] = &m.rules[i]
		for _, b := range r.Behind {
			if b.Where == alerts.Anywhere {
				c.anywhere[b.Rule] = map[string]bool{}
			}
		}
	}
	for id, s := range m.states {
		c.standing[s.Rule] = true
		if all := c.anywhere[s.Rule]; all != nil {
			all[id] = true
		}
	}
	return c
}

// saw takes what a rule was judged by in this tick.
func (c *causes) saw(s alerts.State, o alerts.Observation) {
	if s.Phase == alerts.Normal {
		return
	}
	c.standing[s.Rule] = true
	switch {
	case o.Explains != nil:
		c.values[s.Alert] = o.Explains
	case o.Known:
		c.values[s.Alert] = o.Value
	}
	if all := c.anywhere[s.Rule]; all != nil {
		all[s.Alert] = true
	}
}

// before gives the alerts there are that a rule lies behind, for a subject.
func (c *causes) before(r alerts.Rule, s alerts.Subject) []alerts.Cause {
	var out []alerts.Cause
	add := func(b alerts.Behind, id string) {
		state, there := c.m.states[id]
		if !there {
			return
		}
		rule := c.rules[b.Rule]
		cause := alerts.Cause{
			State: state, Where: b.Where, Only: b.Only,
			OnDelay: rule.OnDelay, OffDelay: rule.OffDelay, Now: c.values[id],
		}
		if b.Where == alerts.Outer {
			cause.Usual = c.m.watch[s.ID].steady()
		}
		out = append(out, cause)
	}
	for _, b := range r.Behind {
		if !c.standing[b.Rule] {
			continue
		}
		if b.Where == alerts.Anywhere {
			for id := range c.anywhere[b.Rule] {
				add(b, id)
			}
			continue
		}
		if b.Where == alerts.ItsContacts {
			for _, id := range append(slices.Clone(c.contacts[s.ID]), c.contacts[c.outer[s.ID]]...) {
				add(b, alerts.AlertID(b.Rule, alerts.Subject{Kind: alerts.ContactSubject, ID: id}))
			}
			continue
		}
		if about, ok := c.reach(b.Where, s); ok {
			add(b, alerts.AlertID(b.Rule, about))
		}
	}
	return out
}

// reach gives the subject that a reach leads to; false: there is none.
func (c *causes) reach(where alerts.Reach, s alerts.Subject) (alerts.Subject, bool) {
	place := func(id string) (alerts.Subject, bool) {
		return alerts.Subject{Kind: alerts.PlaceSubject, ID: id}, id != ""
	}
	at := s.ID
	if s.Kind == alerts.ProbeSubject {
		at = c.place[s.ID]
	}
	switch {
	case where == alerts.Same:
		return s, true
	case where == alerts.ItsPlace && s.Kind == alerts.ProbeSubject:
		return place(at)
	case where == alerts.Outer && (s.Kind == alerts.PlaceSubject || s.Kind == alerts.ProbeSubject):
		return place(c.outer[at])
	case where == alerts.ItsSource && s.Kind == alerts.ProbeSubject:
		return c.m.sourceOf(s.ID)
	}
	return alerts.Subject{}, false
}
