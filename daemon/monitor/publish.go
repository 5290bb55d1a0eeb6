package monitor

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A look is the room as one tick sees it.
type look struct {
	probes   []ProbeNow
	contacts []ContactNow
	places   []PlaceNow
}

func (m *Monitor) look(now time.Time) look {
	l := look{probes: m.probesNow(now), contacts: m.contactsNow(now)}
	l.places = m.placesNow(now, l.probes)
	return l
}

// republish puts a new snapshot in place between two ticks. Caller holds mu.
func (m *Monitor) republish() {
	if !m.quiet {
		m.publish(m.clock.now, m.look(m.clock.now), 0)
	}
}

// publish puts a new snapshot in place. Caller holds mu. Took zero: the last
// tick's own is kept.
func (m *Monitor) publish(now time.Time, l look, took time.Duration) {
	before := m.snap.Load()
	finished := time.Now()
	if took == 0 { // between two ticks
		took, finished = before.Took, before.Finished
	}
	s := &Snapshot{
		Site: m.opt.Site, Time: now, Trusted: m.clock.trusted, Started: m.started,
		Tick: m.ticks, Took: took, Finished: finished, Book: m.book,
		Probes: l.probes, Contacts: l.contacts, Mains: m.mainsAt("", now), Places: l.places, Alerts: m.alertsNow(), Clutches: m.clutchesNow(now),
		Lesson: m.eggs.lesson, Outbox: m.opt.Poster.Pending(), StoreFault: m.commit.state(time.Now()),
	}
	grade(s)
	m.snap.Store(s)
	next := make(chan struct{})
	close(*m.change.Swap(&next))
}

func (m *Monitor) probesNow(now time.Time) []ProbeNow {
	out := make([]ProbeNow, 0, len(m.probes))
	for _, id := range slices.Sorted(maps.Keys(m.probes)) {
		p := m.probes[id]
		at, placed := placement(m.book, id, now)
		if !p.found && !placed {
			continue
		}
		n := ProbeNow{
			Probe: p.probe, Latest: p.latest, Stale: p.stale(now), Fault: p.fault,
			Faults: maps.Clone(p.faults), believed: p.trusted.believed, before: p.trusted.before,
			came: p.trusted.came,
		}
		n.Raw = p.trusted.raw
		if c, ok := m.book.Calibrations[id]; ok {
			n.Calibrated = &c
		}
		if placed {
			n.Place, n.Position = at.Stay.Place, at.Position
		}
		out = append(out, n)
	}
	return out
}

// staleLeast is how old the newest reading of any probe may be.
const staleLeast = 5 * time.Minute

// staleAfter is how old the newest reading may be: five of the probe's own
// intervals, at least five minutes.
func (p *probeState) staleAfter() time.Duration { return staleAfter(p.probe.Interval) }

func staleAfter(interval time.Duration) time.Duration { return max(5*interval, staleLeast) }

func (p *probeState) stale(now time.Time) bool {
	return now.Sub(p.last()) > p.staleAfter()
}

// last is when the probe was heard last, or found if it never was.
func (p *probeState) last() time.Time {
	if p.latest.Time.IsZero() {
		return p.seen
	}
	return p.latest.Time
}

// fresh is the reading as it may be taken for now: a spike is waited out.
func (p ProbeNow) fresh() (incubation.Reading, bool) {
	r := p.believed
	old := p.Latest.Time.Sub(r.Time) > staleAfter(p.Interval)
	return r, !p.Stale && !r.Time.IsZero() && !old
}

// grade gives each place the severity of the worst alert about it.
func grade(s *Snapshot) {
	for i := range s.Places {
		p := &s.Places[i]
		for _, a := range s.Alerts {
			if a.Subject.Kind == alerts.PlaceSubject && a.Subject.ID == p.ID && a.Told() && worse(a.Severity, p.Worst) {
				p.Worst = a.Severity
			}
		}
	}
}

func (m *Monitor) placesNow(now time.Time, probes []ProbeNow) []PlaceNow {
	eggs := liveEggs(m.book, now)
	var out []PlaceNow
	for _, place := range ordered(m.book, now) {
		p := m.placeNow(now, place, probes)
		p.Eggs = eggs[place.ID]
		m.limitsNow(&p)
		out = append(out, p)
	}
	m.coolsNow(out)
	return out
}

// liveEggs gives the live eggs that lie in each place, or in what stands in
// it, sorted.
func liveEggs(b *book.State, now time.Time) map[string][]string {
	out := map[string][]string{}
	for id, egg := range b.Eggs {
		if !egg.Live() {
			continue
		}
		place := incubation.At(egg.Stays, now)
		for range len(b.Places) { // a box in a cabinet in a room; never a ring
			p := b.Places[place]
			if p == nil {
				break
			}
			out[place] = append(out[place], id)
			place = incubation.At(p.Stays, now)
		}
	}
	for _, ids := range out {
		slices.Sort(ids)
	}
	return out
}

func (m *Monitor) placeNow(now time.Time, place *incubation.Place, probes []ProbeNow) PlaceNow {
	n := PlaceNow{
		Place: *place, In: incubation.At(place.Stays, now), Path: m.book.Path(place.ID, now),
		Setpoint: m.book.SetpointAt(place.ID, now), Service: m.serviceNow(place.ID, now),
		Limits: m.limitsAt(place.ID, now),
	}
	n.gather(probes)
	n.Mains = m.mainsAt(place.ID, now)
	if opened, lately := m.doorOpened(place.ID, now); lately {
		n.Opened = opened
	}
	if w := m.watch[place.ID]; w != nil {
		n.Offset, n.Settling = w.differs.known(), w.settling(now)
	}
	n.Expected = m.expected(n, now)
	return n
}

// limitsAt gives a place's own limits that are in force at a time.
func (m *Monitor) limitsAt(place string, now time.Time) book.Period {
	return m.book.Limits[place].At(now.In(m.zone))
}

// ordered gives the places in use: incubators each with its boxes, then what
// else there is.
func ordered(b *book.State, now time.Time) []*incubation.Place {
	var all []*incubation.Place
	for _, id := range slices.Sorted(maps.Keys(b.Places)) {
		if !b.Gone[id] {
			all = append(all, b.Places[id])
		}
	}
	kinds := []incubation.PlaceKind{
		incubation.Incubator, incubation.Box, incubation.LayBox, incubation.Enclosure, incubation.Room,
	}
	slices.SortStableFunc(all, func(x, y *incubation.Place) int {
		return cmp.Or(cmp.Compare(slices.Index(kinds, x.Kind), slices.Index(kinds, y.Kind)), cmp.Compare(x.Name, y.Name))
	})
	var out []*incubation.Place
	for _, p := range all {
		if in := incubation.At(p.Stays, now); p.Kind == incubation.Box && in != "" && !b.Gone[in] {
			continue
		}
		out = append(out, p)
		for _, box := range all {
			if box.Kind == incubation.Box && incubation.At(box.Stays, now) == p.ID {
				out = append(out, box)
			}
		}
	}
	return out
}

// alertsNow gives the alerts that a keeper is to see, worst first.
func (m *Monitor) alertsNow() []alerts.State {
	out := []alerts.State{}
	for _, s := range m.states {
		if s.Told() || s.Phase == alerts.Cleared {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b alerts.State) int {
		if a.Told() != b.Told() {
			if a.Told() {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(rank(b.Severity), rank(a.Severity)),
			b.Raised.Compare(a.Raised), cmp.Compare(a.Alert, b.Alert))
	})
	return out
}

func rank(s alerts.Severity) int {
	return slices.Index([]alerts.Severity{"", alerts.Info, alerts.Warning, alerts.Critical}, s)
}

func worse(a, b alerts.Severity) bool { return rank(a) > rank(b) }

func (m *Monitor) clutchesNow(now time.Time) []ClutchNow {
	out := make([]ClutchNow, 0, len(m.book.Clutches))
	for id, c := range m.book.Clutches {
		n := ClutchNow{
			ID: id, Female: c.Female, Name: m.book.Name(c.Female),
			Laid: LaidJSON{From: c.Laid.From, To: c.Laid.To}, Males: m.eggs.males[id], Eggs: []EggNow{},
		}
		if n.Males == nil {
			n.Males = []float64{}
		}
		for _, egg := range c.Eggs {
			e := EggNow{ID: egg.ID, Mark: egg.Mark, State: egg.State, Estimate: m.eggs.estimates[egg.ID]}
			if e.Computing = e.Estimate == nil; !e.Computing && e.TSP.State == "" {
				e.Estimate = nil // worked out, with nothing to go by
			}
			if egg.Live() {
				e.Box = incubation.At(egg.Stays, now)
				e.PlacePath = m.book.Path(e.Box, now)
			}
			n.Eggs = append(n.Eggs, e)
		}
		n.Ended = c.Ended()
		out = append(out, n)
	}
	slices.SortFunc(out, func(a, b ClutchNow) int {
		return cmp.Or(b.Laid.To.Compare(a.Laid.To), cmp.Compare(b.ID, a.ID))
	})
	return out
}

type mean struct {
	sum float64
	n   int
}

func (m *mean) add(v float64) { m.sum += v; m.n++ }

func (m *mean) value() (float64, bool) { return m.sum / float64(max(m.n, 1)), m.n > 0 }

func ptr[T any](v T) *T { return &v }
