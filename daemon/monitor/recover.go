package monitor

import (
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A place that comes back by itself from what was told is no further news: a
// cabinet after a power cut, a box whose cabinet has come back already. One
// that stops on the way is.

// warmsAgain reports whether a place is cold after a start that found a gap,
// and no longer falls. A box takes hours to follow its cabinet.
func (m *Monitor) warmsAgain(p PlaceNow, w *placeWatch) bool {
	long := time.Duration(m.rule("away").Limit.Above) * time.Second
	return m.away != nil && m.away.found.Sub(m.away.from) >= long &&
		m.clock.now.Sub(m.away.found) < settleSetpoint &&
		p.Celsius != nil && !w.falling(float64(*p.Celsius))
}

// coolsOff reports whether a box falls from a heat that what it stands in has
// left: that is under the limit by now.
func (m *Monitor) coolsOff(p PlaceNow, w *placeWatch, high float64) bool {
	outer := m.watch[p.In]
	if p.Kind != incubation.Box || p.Celsius == nil || outer == nil || len(outer.trail) == 0 {
		return false
	}
	air := outer.trail[len(outer.trail)-1]
	return w.last.Sub(air.at) < fallOver && air.celsius < high && w.falling(float64(*p.Celsius))
}

// justTold reports whether what a rule lies behind, about a place or what it
// stands in, has ended so short ago that the mean of the last half hour still
// tells of it.
func (m *Monitor) justTold(r alerts.Rule, p PlaceNow, w *placeWatch) bool {
	about := map[alerts.Reach]string{alerts.Same: p.ID, alerts.Outer: p.In}
	for _, b := range r.Behind {
		if place := about[b.Where]; place != "" && m.stands(b.Rule, place) {
			w.told = m.clock.now
		}
	}
	return m.clock.now.Sub(w.told) < settleBox
}
