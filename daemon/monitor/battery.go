package monitor

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// onBattery is the rule of a power cut that somebody is there to tell of: this
// computer has a battery, or another circuit.
const onBattery = "on-battery"

// batteryNamed is how many incubators its message names.
const batteryNamed = 3

// A powerCut is what became of the incubators while the mains were off: the
// coldest that each of them was, by place.
type powerCut map[string]incubation.Celsius

// ofBattery judges each mains contact. Of several that tell of the same
// incubators the first to say that they are off speaks. What a contact said
// last holds: one that fails has not brought the mains back.
func (m *Monitor) ofBattery(room look, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	mains := slices.DeleteFunc(slices.Clone(room.contacts), func(c ContactNow) bool {
		return c.Kind != incubation.Mains || !c.Known
	})
	slices.SortFunc(mains, func(a, b ContactNow) int {
		return cmp.Or(a.Since.Compare(b.Since), cmp.Compare(a.ID, b.ID))
	})
	said := map[string]bool{} // by place
	for _, c := range mains {
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.ContactSubject, ID: c.ID, Name: contactName(c, PlaceNow{})},
			Known:   true, Beyond: !c.On,
		}
		all := slices.DeleteFunc(slices.Clone(room.places), func(p PlaceNow) bool {
			return p.Kind != incubation.Incubator || !m.feeds(c.ID, p.ID, now)
		})
		fed := slices.DeleteFunc(slices.Clone(all), func(p PlaceNow) bool { return said[p.ID] })
		if o.Beyond && len(all) > 0 && len(fed) == 0 {
			o.Beyond = false
		}
		for _, p := range fed {
			o.Eggs = append(o.Eggs, p.Eggs...)
			said[p.ID] = said[p.ID] || o.Beyond
		}
		o.Marks = m.marks(o.Eggs)
		if o.Beyond {
			m.during(&o, fed)
		} else {
			m.afterwards(&o, fed)
		}
		look(m.rule(onBattery), o)
	}
}

// during says how long each incubator with eggs stays warm enough, and
// remembers how cold each was. Soon too cool, or too cool already: critical.
func (m *Monitor) during(o *alerts.Observation, fed []PlaceNow) {
	id := o.Subject.ID
	if m.cuts[id] == nil {
		m.cuts[id] = powerCut{}
	}
	at := slices.DeleteFunc(slices.Clone(fed), func(p PlaceNow) bool { return p.Countdown == nil })
	for _, p := range at {
		if low, seen := m.cuts[id][p.ID]; !seen || p.Countdown.Celsius < low {
			m.cuts[id][p.ID] = p.Countdown.Celsius
		}
	}
	at = slices.DeleteFunc(at, func(p PlaceNow) bool { return len(p.Eggs) == 0 })
	if len(at) == 0 {
		return
	}
	slices.SortStableFunc(at, func(a, b PlaceNow) int {
		return cmp.Compare(a.Countdown.order(), b.Countdown.order())
	})
	o.Detail = listed(at, func(p PlaceNow) string { return p.Countdown.says(p.Name, m.scale()) })
	near := soon
	if m.states[alerts.AlertID(onBattery, o.Subject)].Severity == alerts.Critical {
		near = ended
	}
	if at[0].Countdown.order() < near {
		o.Severity = alerts.Critical
	}
}

// afterwards says how cold each incubator became, the coldest first.
func (m *Monitor) afterwards(o *alerts.Observation, fed []PlaceNow) {
	cut := m.cuts[o.Subject.ID]
	if !m.states[alerts.AlertID(onBattery, o.Subject)].Told() {
		delete(m.cuts, o.Subject.ID)
		return
	}
	at := slices.DeleteFunc(slices.Clone(fed), func(p PlaceNow) bool { return cut[p.ID] == 0 })
	slices.SortStableFunc(at, func(a, b PlaceNow) int { return cmp.Compare(cut[a.ID], cut[b.ID]) })
	o.Detail = listed(at, func(p PlaceNow) string {
		return fmt.Sprintf("%s fell to %s", p.Name, alerts.Amount(float64(cut[p.ID]), "celsius", m.scale()))
	})
}

// listed writes the first few places in a sentence, and how many more there are.
func listed(places []PlaceNow, says func(PlaceNow) string) string {
	var parts []string
	for _, p := range places[:min(len(places), batteryNamed)] {
		parts = append(parts, says(p))
	}
	if n := len(places) - batteryNamed; n > 0 {
		parts = append(parts, fmt.Sprintf("%d more after them", n))
	}
	if len(parts) == 0 {
		return ""
	}
	return strings.Join(parts, ", ") + "."
}

// batteryTells reports whether the message of a power cut tells already that a
// place cools.
func (m *Monitor) batteryTells(p PlaceNow) bool {
	if !p.Mains.Off {
		return false
	}
	for _, s := range m.states {
		if s.Rule == onBattery && s.Told() {
			return true
		}
	}
	return false
}
