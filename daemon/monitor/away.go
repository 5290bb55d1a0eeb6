package monitor

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"clutchd/alerts"
	"clutchd/incubation"
)

const (
	// awayPatience is how long a start waits for the first readings before it
	// tells of the gap it found.
	awayPatience = 2 * time.Minute
	// awayReads is how long it waits besides for what the history tells.
	awayReads = 30 * time.Second
)

// awayNow is the gap that a start found.
type awayNow struct {
	from, to time.Time // to zero: told
	found    time.Time // since when that is known
	// first is what each place said first after it.
	first map[string]point
	// past is what the history tells of it; read is nil until that is asked,
	// and closed once it is answered.
	past meanwhile
	read chan struct{}
}

// A point is a place's temperature at a time.
type point struct {
	at      time.Time
	celsius float64
}

func (p point) known() bool { return !p.at.IsZero() }

// findAway notes how long nothing was recorded, once the time is known.
func (m *Monitor) findAway(now time.Time) {
	if !m.lastRun.IsZero() && m.away == nil && now.After(m.lastRun) {
		m.away = &awayNow{from: m.lastRun, to: m.started, found: now, first: map[string]point{}}
		if m.started.IsZero() {
			m.away.to = now
		}
	}
}

// ofAway tells of the gap once: as soon as every box with eggs has spoken, or
// patience is over. It is critical if eggs came back outside limits that harm
// them.
func (m *Monitor) ofAway(o alerts.Observation, places []PlaceNow, now time.Time) alerts.Observation {
	r := m.rule("away")
	o.Low, o.High = r.Bounds(nil, nil)
	o.Value = ptr(0.0)
	if m.away == nil || m.away.to.IsZero() || m.quiet {
		return o
	}
	outside, silent := m.cameBack(places)
	waited := now.Sub(m.away.found)
	if len(silent) > 0 && waited < awayPatience || !m.readAway() && waited < awayPatience+awayReads {
		return o
	}
	from := m.away.from
	if !m.away.past.from.IsZero() {
		from = m.away.past.from
	}
	o.Value = ptr(m.away.to.Sub(from).Seconds())
	tales := m.tales(places)
	var parts []string
	for _, p := range outside {
		o.Eggs = append(o.Eggs, p.Eggs...)
		parts = append(parts, p.Name)
	}
	if len(outside) > 0 {
		o.Severity = alerts.Critical
		parts = []string{fmt.Sprintf("Outside its limits now: %s.", strings.Join(parts, ", "))}
	}
	for _, t := range tales {
		if t.withoutHeat() {
			o.Eggs = append(o.Eggs, t.eggs...)
		}
	}
	slices.Sort(o.Eggs)
	o.Eggs = slices.Compact(o.Eggs)
	o.Marks = m.marks(o.Eggs)
	o.Detail = strings.Join(append(parts, tell(tales, m.zone, m.scale())...), " ")
	m.away.to = time.Time{} // told
	return o
}

// cameBack gives the places with eggs that are outside their limits, and those
// that have not spoken yet.
func (m *Monitor) cameBack(places []PlaceNow) (outside, silent []PlaceNow) {
	for _, p := range places {
		switch {
		case p.Kind != incubation.Box && p.Kind != incubation.Incubator || len(p.Probes) == 0:
			continue
		case p.Celsius == nil:
			if len(p.Eggs) > 0 {
				silent = append(silent, p)
			}
			continue
		case len(p.Eggs) > 0 && m.astray(p):
			outside = append(outside, p)
		}
		if _, spoke := m.away.first[p.ID]; !spoke {
			m.away.first[p.ID] = point{p.Read, float64(*p.Celsius)}
		}
	}
	return outside, silent
}

// readAway has the history read beside the tick, and reports whether it was.
func (m *Monitor) readAway() bool {
	a := m.away
	if a.read == nil {
		a.read = make(chan struct{})
		// What was read just before the first tick is this start's own; what a
		// device measured while nobody listened comes when it is heard again.
		q := question{book: m.book, from: a.from, to: a.to.Add(-time.Minute), watched: map[string]bool{}}
		for id, p := range m.probes {
			q.watched[id] = p.found && p.probe.Model != "mqtt"
		}
		m.gaps <- q // read once a start: there is room
	}
	select {
	case <-a.read:
		return true
	default:
		return false
	}
}

// recall reads the history of the gap when asked. It runs beside the tick, and
// beside what writes: an entry must not wait for it.
func (m *Monitor) recall(ctx context.Context) {
	select {
	case <-ctx.Done():
	case q := <-m.gaps:
		past := m.meanwhile(ctx, q)
		m.mu.Lock()
		defer m.mu.Unlock()
		m.away.past = past
		close(m.away.read)
	}
}

func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}
