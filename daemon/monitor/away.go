package monitor

import (
	"fmt"
	"strings"
	"time"
	"unicode"

	"clutchd/alerts"
	"clutchd/incubation"
)

// awayPatience is how long a start waits for the first readings before it
// tells of the gap it found.
const awayPatience = 2 * time.Minute

// awayNow is the gap that a start found.
type awayNow struct {
	from, to time.Time
}

// findAway notes how long nothing was recorded, once the time is known.
func (m *Monitor) findAway(now time.Time) {
	if !m.lastRun.IsZero() && m.away == nil && now.After(m.lastRun) {
		m.away = &awayNow{from: m.lastRun, to: m.started}
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
	var outside, quiet []string
	for _, p := range places {
		switch {
		case p.Kind != incubation.Box && p.Kind != incubation.Incubator || len(p.Eggs) == 0 || len(p.Probes) == 0:
		case p.Celsius == nil:
			quiet = append(quiet, p.Name)
		case m.astray(p):
			outside = append(outside, p.Name)
			o.Eggs = append(o.Eggs, p.Eggs...)
		}
	}
	if len(quiet) > 0 && now.Sub(m.started) < awayPatience {
		return o
	}
	o.Value = ptr(m.away.to.Sub(m.away.from).Seconds())
	if len(outside) > 0 {
		o.Severity = alerts.Critical
		o.Marks = m.marks(o.Eggs)
		o.Detail = fmt.Sprintf("Outside its limits now: %s.", strings.Join(outside, ", "))
	}
	m.away.to = time.Time{} // told
	return o
}

func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}
