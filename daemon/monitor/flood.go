package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// floodRule counts alerts and is not counted.
const floodRule = "flood"

// goesOut reports whether a change of an alert goes out by itself, and notes on
// its state if it does not.
func (m *Monitor) goesOut(s alerts.State, reason alerts.Reason) (alerts.State, bool) {
	if s.Rule == floodRule {
		return s, alerts.Tells(reason) && !m.quiet
	}
	now := m.clock.now
	if reason == alerts.ReasonRaised {
		m.flood.Came(now)
	}
	s, tells := alerts.Gather(s, reason, m.flood.On(m.flooded(), now))
	return s, tells && !m.quiet
}

// flooded reports whether the flood's own alert stands.
func (m *Monitor) flooded() bool {
	return m.states[alerts.AlertID(floodRule, machine())].Told()
}

// machine is the subject of what is about the machine itself.
func machine() alerts.Subject {
	return alerts.Subject{Kind: alerts.SystemSubject, ID: "clutchd", Name: "clutchd"}
}

// ofFlood looks at how many alerts there are at once.
func (m *Monitor) ofFlood(now time.Time, look func(alerts.Rule, alerts.Observation)) {
	o := alerts.Observation{Subject: machine(), Known: true, Beyond: m.flood.On(m.flooded(), now)}
	var gathered []alerts.State
	for _, s := range m.states {
		if s.Gathered && s.Told() {
			gathered = append(gathered, s)
		}
	}
	if n := len(gathered); n > 0 {
		slices.SortFunc(gathered, func(a, b alerts.State) int {
			return cmp.Or(cmp.Compare(rank(b.Severity), rank(a.Severity)),
				a.Raised.Compare(b.Raised), cmp.Compare(a.Alert, b.Alert))
		})
		worst := gathered[0]
		rule, _ := alerts.RuleFor(worst.Rule) // none, where another version told it
		o.Detail = fmt.Sprintf("%d are not told one by one. The worst: %s, %s.",
			n, cmp.Or(rule.Title, worst.Rule), cmp.Or(worst.Subject.Name, worst.Subject.ID))
		if where, k := m.mostIn(gathered, now); 2*k > n {
			o.Detail += fmt.Sprintf(" %d of them belong to %s: look there first.", k, where)
		}
	}
	look(m.rule(floodRule), o)
}

// mostIn gives the place to which most of the alerts belong, by the outermost
// that is not a room, and how many do.
func (m *Monitor) mostIn(all []alerts.State, now time.Time) (name string, n int) {
	count := map[string]int{}
	for _, s := range all {
		count[m.outermost(s.Subject, now)]++
	}
	delete(count, "")
	most := ""
	for id, k := range count {
		if k > n || k == n && id < most {
			most, n = id, k
		}
	}
	if p := m.book.Places[most]; p != nil {
		name = p.Name
	}
	return name, n
}

// outermost is the id of the place that a subject belongs to, as far out as
// one heater or one keeper's hand reaches; "": none.
func (m *Monitor) outermost(s alerts.Subject, now time.Time) string {
	at := ""
	switch s.Kind {
	case alerts.PlaceSubject:
		at = s.ID
	case alerts.ProbeSubject:
		if p, ok := placement(m.book, s.ID, now); ok {
			at = p.Stay.Place
		}
	case alerts.EggSubject:
		if egg := m.book.Eggs[s.ID]; egg != nil {
			at = incubation.At(egg.Stays, now)
		}
	}
	for range len(m.book.Places) { // never a ring
		p := m.book.Places[at]
		if p == nil {
			return ""
		}
		outer := m.book.Places[incubation.At(p.Stays, now)]
		if outer == nil || outer.Kind == incubation.Room {
			break
		}
		at = outer.ID
	}
	return at
}
