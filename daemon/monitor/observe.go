package monitor

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// judge turns the room into observations and each of those into the alert's
// next state. Caller holds mu.
func (m *Monitor) judge(now time.Time, room look) {
	probes, places := room.probes, room.places
	seen := map[string]bool{}
	look := func(rule alerts.Rule, o alerts.Observation) {
		o.NewID = m.newOccurrence
		o.Scale = m.scale()
		id := alerts.AlertID(rule.Code, o.Subject)
		seen[id] = true
		after, reason := alerts.Judge(rule, m.states[id], o, now)
		m.settleAlert(after, reason)
	}
	eggs := map[string][]string{}
	for _, p := range places {
		eggs[p.ID] = p.Eggs
		m.remember(p, places, now)
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.PlaceSubject, ID: p.ID, Name: p.Name},
			Waiting: !m.watch[p.ID].settling(now).IsZero(),
			Eggs:    p.Eggs, Marks: m.marks(p.Eggs), Setpoint: plain(p.Setpoint),
		}
		for _, rule := range m.rules {
			if o, ok := m.ofPlace(rule, p, o); ok {
				look(rule, o)
			}
		}
	}
	for _, p := range probes {
		if o, ok := m.ofProbe(p, eggs[p.Place], now); ok {
			look(m.rule("stale"), o)
		}
	}
	for id, egg := range m.book.Eggs {
		if egg.Live() && !m.quiet {
			m.ofEgg(id, egg, now, look)
		}
	}
	m.ofSystem(places, now, look)
	for id, s := range m.states {
		if !seen[id] && !m.quiet {
			r, _ := alerts.RuleFor(s.Rule) // one of an older version ends the same
			after, reason := alerts.Withdraw(r, s, now)
			after.Alert = id
			m.settleAlert(after, reason)
		}
	}
}

// rule gives one that is known to exist.
func (m *Monitor) rule(code string) alerts.Rule {
	i := slices.IndexFunc(m.rules, func(r alerts.Rule) bool { return r.Code == code })
	return m.rules[i] // a misspelt code panics in the first tick of any test
}

// settleAlert keeps an alert's new state and tells of the change if its reason
// is one that tells.
func (m *Monitor) settleAlert(s alerts.State, reason alerts.Reason) {
	_, had := m.states[s.Alert]
	over := s.Phase == alerts.Normal && s.ShelvedUntil.IsZero()
	if over {
		delete(m.states, s.Alert)
	} else {
		m.states[s.Alert] = s
	}
	if reason == alerts.ReasonStill && over != had {
		return
	}
	var states []alerts.State
	var forget []string
	if over {
		forget = []string{s.Alert}
	} else {
		states = []alerts.State{s}
	}
	var notices []alerts.Notice
	if alerts.Tells(reason) && !m.quiet {
		notices = append(notices, alerts.NewNotice(m.ids.take(), s, reason, m.clock.now))
		m.opt.Poster.Post(notices...)
	}
	m.commit.told(states, forget, notices)
}

func (m *Monitor) newOccurrence() string { return "o" + strconv.FormatUint(m.ids.take(), 36) }

func (m *Monitor) scale() alerts.Scale {
	if m.opt.Fahrenheit {
		return alerts.InFahrenheit
	}
	return alerts.InCelsius
}

// remember brings a place's watch up to date.
func (m *Monitor) remember(p PlaceNow, all []PlaceNow, now time.Time) {
	w := m.watch[p.ID]
	if w == nil {
		w = &placeWatch{}
		m.watch[p.ID] = w
	}
	w.settled = settledAt(m.book, p.ID, now)
	if p.Celsius == nil {
		return
	}
	var outer *incubation.Celsius
	for _, o := range all {
		if o.ID == p.In && o.Kind == incubation.Incubator {
			outer = o.Celsius
		}
	}
	w.see(now, float64(*p.Celsius), outer)
}

// ofPlace completes what a rule sees of a place; false: it is not judged there.
func (m *Monitor) ofPlace(r alerts.Rule, p PlaceNow, o alerts.Observation) (alerts.Observation, bool) {
	if r.About != alerts.PlaceSubject {
		return alerts.Observation{}, false
	}
	keepsEggs := p.Kind == incubation.Incubator || p.Kind == incubation.Box
	if r.Limit.Base != alerts.Own && !keepsEggs {
		return alerts.Observation{}, false
	}
	if r.Unit == "ratio" && p.Kind != incubation.Box {
		return alerts.Observation{}, false // the air around the boxes may be dry
	}
	w := m.watch[p.ID]
	if r.Code == "eggs-unwatched" {
		o.Known, o.Beyond = true, p.Kind == incubation.Box && m.unwatched(p)
		return o, true
	}
	o.Low, o.High = r.Bounds(o.Setpoint, ownLimits(m.book.Limits[p.ID]))
	if o.Low == nil && o.High == nil {
		return o, false
	}
	o.Value = m.valueFor(r, p, w)
	o.Known = o.Value != nil
	if r.Code == "too-cool" && p.Coolest != nil {
		o.Steady = !w.falling(float64(*p.Coolest))
	}
	return o, len(p.Probes) > 0
}

// valueFor is the value that a rule compares: the warmest probe for heat, the
// coolest for cold.
func (m *Monitor) valueFor(r alerts.Rule, p PlaceNow, w *placeWatch) *float64 {
	switch {
	case r.Unit == "ratio":
		return plain(p.Humidity)
	case p.Celsius == nil:
		return nil
	case r.Code == "off-setpoint":
		// A shelf's steady difference is a finding on the page, not an alert.
		smooth := w.smooth
		if d := w.offset(); d != nil {
			smooth -= math.Max(-steadyMost, math.Min(steadyMost, *d))
		}
		return &smooth
	case r.Limit.Above != 0 || r.Limit.Book == alerts.HighCelsius:
		return plain(p.Warmest)
	}
	return plain(p.Coolest)
}

// steadyMost is how large a shelf's steady difference may be and still be
// called one: shelves of a cabinet differ by 1 to 2 K.
const steadyMost = 2.0

// unwatched reports whether a box's eggs have no probe that speaks, neither in
// the box nor in what it stands in.
func (m *Monitor) unwatched(p PlaceNow) bool {
	now := m.clock.now
	for id, s := range m.probes {
		at, ok := placement(m.book, id, now)
		if ok && (at.Stay.Place == p.ID || at.Stay.Place == p.In) && !s.stale(now) && !s.latest.Time.IsZero() &&
			s.latest.Has&incubation.Temperature != 0 {
			return false
		}
	}
	return true
}

func (m *Monitor) ofProbe(p ProbeNow, eggs []string, now time.Time) (alerts.Observation, bool) {
	if p.Place == "" {
		return alerts.Observation{}, false
	}
	s := m.probes[p.ID]
	since := s.latest.Time
	if since.IsZero() {
		since = s.seen
	}
	o := alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.ProbeSubject, ID: p.ID, Name: p.ID},
		Known:   true, Value: ptr(now.Sub(since).Seconds()), High: ptr(s.staleAfter().Seconds()),
		Place: m.book.Path(p.Place, now), Eggs: eggs, Marks: m.marks(eggs),
	}
	if p.Fault != "" {
		o.Detail = "Last fault: " + string(p.Fault) + "."
	}
	return o, true
}

// ofEgg looks at an egg's estimate.
func (m *Monitor) ofEgg(id string, egg *incubation.Egg, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	e := m.eggs.estimates[id]
	o := alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.EggSubject, ID: id, Name: m.marks([]string{id})[0]},
		Known:   e != nil, Eggs: []string{id}, Place: m.book.Path(incubation.At(egg.Stays, now), now),
	}
	for _, code := range []string{"tsp-open", "hatch-near", "hatch-overdue"} {
		if e != nil {
			switch code {
			case "tsp-open":
				o.Beyond = e.TSP.State == incubation.TSPOpen
				o.Detail = fmt.Sprintf("Until about %s.", m.day(e.TSP.Closes))
			case "hatch-near":
				o.Beyond = !now.Before(e.Hatch.Earliest)
				o.Detail = fmt.Sprintf("Most likely on %s.", m.day(e.Hatch.Likely))
			case "hatch-overdue":
				o.Beyond = now.After(e.Hatch.Latest)
				o.Detail = fmt.Sprintf("It was expected by %s.", m.day(e.Hatch.Latest))
			}
		}
		look(m.rule(code), o)
	}
}

// day writes a date as the room's calendar has it.
func (m *Monitor) day(t time.Time) string { return t.In(m.zone).Format("2 January") }

// ofSystem looks at the machine itself.
func (m *Monitor) ofSystem(places []PlaceNow, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	o := alerts.Observation{Subject: alerts.Subject{Kind: alerts.SystemSubject, ID: "clutchd", Name: "clutchd"}, Known: true}
	clock := o
	clock.Beyond = !m.clock.trusted
	look(m.rule("clock"), clock)
	store := o
	fault := m.commit.state(time.Now())
	if store.Beyond = fault != ""; store.Beyond {
		store.Detail = capital(fault) + "."
	}
	look(m.rule("store"), store)
	look(m.rule("away"), m.ofAway(o, places, now))
}

// marks names eggs for people: the female and the mark on the shell.
func (m *Monitor) marks(eggs []string) []string {
	out := make([]string, 0, len(eggs))
	for _, id := range eggs {
		egg := m.book.Eggs[id]
		name := egg.Clutch
		if c := m.book.Clutches[egg.Clutch]; c != nil {
			name = m.book.Females[c.Female].Name
		}
		out = append(out, name+" "+egg.Mark)
	}
	return out
}

func ownLimits(l book.LimitsData) map[alerts.BookLimit]float64 {
	own := map[alerts.BookLimit]float64{}
	set := func(name alerts.BookLimit, v *float64) {
		if v != nil {
			own[name] = *v
		}
	}
	set(alerts.LowCelsius, plain(l.LowCelsius))
	set(alerts.HighCelsius, plain(l.HighCelsius))
	set(alerts.LowHumidityRatio, l.LowHumidityRatio)
	set(alerts.OffSetpointKelvin, l.OffSetpointKelvin)
	set(alerts.OverSetpointKelvin, l.OverSetpointKelvin)
	return own
}

// limitsNow fills in at which values an alert would be raised: the innermost
// of the limits on each side.
func (m *Monitor) limitsNow(p *PlaceNow) {
	own := ownLimits(m.book.Limits[p.ID])
	keepsEggs := p.Kind == incubation.Incubator || p.Kind == incubation.Box
	for _, r := range m.rules {
		if r.About != alerts.PlaceSubject || r.Limit.Base != alerts.Own && !keepsEggs {
			continue
		}
		low, high := r.Bounds(plain(p.Setpoint), own)
		switch {
		case r.Unit == "ratio" && low != nil && p.Kind == incubation.Box:
			p.LowHumidity = ptr(incubation.Humidity(*low))
		case r.Unit == "celsius":
			if low != nil && (p.Low == nil || *low > float64(*p.Low)) {
				p.Low = ptr(incubation.Celsius(*low))
			}
			if high != nil && (p.High == nil || *high < float64(*p.High)) {
				p.High = ptr(incubation.Celsius(*high))
			}
		}
	}
}

// plain gives a value without its unit's type.
func plain[T ~float64](v *T) *float64 {
	if v == nil {
		return nil
	}
	return ptr(float64(*v))
}
