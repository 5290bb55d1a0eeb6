package monitor

import (
	"fmt"
	"math"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// judge turns the room into observations and each of those into the alert's
// next state. Caller holds mu.
func (m *Monitor) judge(now time.Time, room look) {
	probes, places := room.probes, room.places
	seen := map[string]bool{}
	causes, out := m.causesOf(room, now), m.outagesOf(room)
	look := func(rule alerts.Rule, o alerts.Observation) {
		rule, on := m.ruleFor(rule, o.Subject)
		if !on || out.silence(rule, o.Subject) {
			return // what was told of it is withdrawn
		}
		o.NewID = m.newOccurrence
		o.Scale = m.scale()
		o.Causes = causes.before(rule, o.Subject)
		id := alerts.AlertID(rule.Code, o.Subject)
		after, reason := alerts.Judge(rule, m.states[id], o, now)
		causes.saw(after, o)
		m.settleAlert(after, reason)
		if _, stands := m.states[id]; stands {
			seen[id] = true
		}
	}
	eggs, boxes := map[string][]string{}, boxesIn(places)
	m.ofBattery(room, now, look)
	m.ofEarly(places, now, look)
	for _, p := range places {
		eggs[p.ID] = p.Eggs
		m.remember(p, places, now)
		o := m.seenOf(p, now)
		o.Marks = m.marks(p.Eggs)
		o.Boxes = boxNames(withEggs(boxes[p.ID]))
		for _, rule := range m.rulesAt(p.ID) {
			if o, ok := m.ofPlace(rule, p, boxes[p.ID], o); ok {
				look(rule, o)
			}
		}
	}
	m.ofSources(probes, eggs, now, look)
	sources := bySource(probes)
	for _, p := range probes {
		if o, ok := m.ofProbe(p, sources[p.Through], eggs[p.Place], now); ok {
			look(m.rule("stale"), o)
		}
	}
	m.ofContacts(now, room, look)
	for id, egg := range m.book.Eggs {
		if egg.Live() && !m.quiet {
			m.ofEgg(id, egg, now, look)
		}
	}
	m.ofSeason(now, look)
	m.ofTrust(probes, now, look)
	m.ofSystem(places, now, look)
	m.ofDelivery(look)
	m.ofFlood(now, look)
	for id, s := range m.states {
		if !seen[id] && !m.quiet && s.Rule != alerts.DailyRule {
			r, _ := alerts.RuleFor(s.Rule) // one of an older version ends the same
			after, reason := alerts.Withdraw(r, s, now)
			after.Alert = id
			m.settleAlert(out.withdrawn(after), reason)
		}
	}
}

// seenOf is what every rule sees of a place, but for the names of its eggs.
func (m *Monitor) seenOf(p PlaceNow, now time.Time) alerts.Observation {
	return alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.PlaceSubject, ID: p.ID, Name: p.Name},
		Waiting: !m.watch[p.ID].settling(now).IsZero(),
		Eggs:    p.Eggs, Setpoint: plain(p.Setpoint),
	}
}

// rule gives one that is known to exist.
func (m *Monitor) rule(code string) alerts.Rule {
	i := slices.IndexFunc(m.rules, func(r alerts.Rule) bool { return r.Code == code })
	return m.rules[i] // a misspelt code panics in the first tick of any test
}

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
	w.settled = later(settledAt(m.book, p.ID, now), m.doorSettles(p.ID, now))
	key := ""
	if s, ok := shelfOf(m.book, p.ID, now); ok {
		key = s.key()
	}
	if key != w.shelf {
		w.shelf, w.differs, w.wobbles = key, difference{}, wobble{}
	}
	if keeps := keepsTo(p); keeps != w.keeps {
		w.keeps, w.lately = keeps, difference{}
	}
	w.learns = false
	if p.Celsius == nil || p.Doubt.Broken() || p.Service != nil { // what it reads then teaches nothing
		return
	}
	var outer *incubation.Celsius
	if i := slices.IndexFunc(all, func(o PlaceNow) bool { return o.ID == p.In }); i >= 0 && key != "" {
		outer = all[i].Celsius
	}
	w.see(now, float64(*p.Celsius), outer, m.watch[p.In])
	w.learns = w.learning(outer)
}

// ofPlace completes what a rule sees of a place; false: it is not judged there.
func (m *Monitor) ofPlace(
	r alerts.Rule, p PlaceNow, boxes []PlaceNow, o alerts.Observation,
) (alerts.Observation, bool) {
	if !judged(r, p) {
		return alerts.Observation{}, false
	}
	w := m.watch[p.ID]
	if r.Code == "eggs-unwatched" {
		if o.Known = true; p.Kind == incubation.Incubator {
			return m.unwatchedIn(boxes, o), true
		}
		o.Beyond = m.unwatched(p)
		return o, true
	}
	l := m.limitsOf(r, p)
	o.Low, o.High = l.low, l.high
	if o.Low == nil && o.High == nil {
		return o, false
	}
	if p.Kind == incubation.Incubator && len(p.Probes) == 0 && r.Limit.Base != alerts.Own {
		o, ok := m.byBoxes(r, l, boxes, o)
		o.Steady = o.Steady || o.Low != nil && r.Unit == "celsius" && m.batteryTells(p)
		return o, ok
	}
	o.Value = m.valueFor(r, p, w)
	o.Known = o.Value != nil && !held(r, p, l, *o.Value)
	if o.Began = p.came; kills(r) && hotter(p) {
		o.Began = p.hot
	}
	switch r.Code {
	case "too-cool":
		o.Steady = p.Celsius != nil && !w.falling(float64(*p.Celsius))
	case "too-warm":
		o.Steady = m.coolsOff(p, w, *l.high)
	case offSetpoint:
		o.Deadband, o.Detail = l.deadband, l.why
		o.Waiting = o.Waiting || w.learns || m.justTold(r, p, w)
		o.Steady = math.Abs(w.median()-l.around) < l.kelvin
		o.Known = o.Known && !m.undecided(l, p, *o.Value)
	}
	cold := o.Value != nil && o.Low != nil && *o.Value < *o.Low
	o.Waiting = o.Waiting || cold && (m.doorTold(p.ID) || m.warmsAgain(p, w))
	o.Steady = o.Steady || o.Low != nil && r.Unit == "celsius" && m.batteryTells(p)
	return o, len(p.Probes) > 0
}

// valueFor is the value that a rule compares: the warmest probe for heat, the
// coolest for cold.
func (m *Monitor) valueFor(r alerts.Rule, p PlaceNow, w *placeWatch) *float64 {
	switch {
	case r.Unit == "ratio":
		return plain(p.Humidity)
	case kills(r) && hotter(p):
		return plain(p.Hottest)
	case p.Celsius == nil:
		return nil
	case r.Code == offSetpoint:
		return ptr(w.smooth)
	case r.Limit.Above != 0 || r.Limit.Book == alerts.HighCelsius:
		return plain(p.Warmest)
	}
	return plain(p.Coolest)
}

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

// sourcePatience is how much longer than its own interval a probe's silence
// waits where its whole source may be what is silent: that one's on-delay, and
// as much again for ticks. Judgement.
const sourcePatience = time.Minute

// ofProbe is what is seen of a probe's silence; its are the probes of its
// source.
func (m *Monitor) ofProbe(
	p ProbeNow, its []ProbeNow, eggs []string, now time.Time,
) (alerts.Observation, bool) {
	if p.Place == "" {
		return alerts.Observation{}, false
	}
	s := m.probes[p.ID]
	silent, most := now.Sub(s.last()), s.staleAfter()
	o := alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.ProbeSubject, ID: p.ID, Name: p.ID},
		Known:   true, Value: ptr(silent.Seconds()), Place: m.book.Path(p.Place, now),
	}
	if m.dropsOut(p.ID) {
		most *= 2
	}
	if m.inDoubt(p, its, now) {
		most += p.Interval + sourcePatience
	}
	o.High = ptr(most.Seconds())
	switch s := m.states[alerts.AlertID("stale", o.Subject)]; {
	case silent >= most:
		o.Eggs = m.touchedBy(p, eggs, now) // takes long, and nobody asks of one that speaks
	case s.Told():
		o.Eggs = m.stillLive(s.Eggs)
	}
	o.Marks = m.marks(o.Eggs)
	if p.Fault != "" {
		o.Detail = "Last fault: " + string(p.Fault) + "."
	}
	return o, true
}

// ofSystem looks at the machine itself.
func (m *Monitor) ofSystem(places []PlaceNow, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	o := alerts.Observation{Subject: machine(), Known: true}
	clock := o
	clock.Beyond = !m.clock.trusted
	if m.clock.behind {
		clock.Detail = fmt.Sprintf("It is set to before %s, when something was written down already.",
			m.clock.newest.In(m.zone).Format("2 January 2006, 15:04"))
	}
	look(m.rule("clock"), clock)
	store := o
	fault := m.commit.state(time.Now())
	if store.Beyond = fault != ""; store.Beyond {
		store.Detail = capital(fault) + "."
	}
	look(m.rule("store"), store)
	look(m.rule("damage"), m.ofDamage(o, now))
	look(m.rule("away"), m.ofAway(o, places, now))
}

// marks names eggs for people: the female and the mark on the shell.
func (m *Monitor) marks(eggs []string) []string {
	out := make([]string, 0, len(eggs))
	for _, id := range eggs {
		egg := m.book.Eggs[id]
		name := egg.Clutch
		if c := m.book.Clutches[egg.Clutch]; c != nil {
			name = m.book.Name(c.Female)
		}
		out = append(out, name+" "+egg.Mark)
	}
	return out
}
