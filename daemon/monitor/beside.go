package monitor

import (
	"fmt"
	"math"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A value that rests while what is beside the probe, or what its box stands
// in, has gone elsewhere is frozen sooner than the sensor's own past would
// tell. Two hours are three times what a full box lags behind. Judgement.
const (
	restBeside = 2 * time.Hour
	wentBeside = 1.5 // K
)

// frozenBeside finds probes whose value rests while their neighbours moved.
// Caller holds mu.
func (m *Monitor) frozenBeside(said map[string]float64) {
	now := m.clock.now
	for id := range said {
		h := &m.probes[id].trusted
		c := &h.company
		rest := h.stream.Rest()
		level, ok := m.levelBeside(id, said)
		frozen := h.verdict == incubation.Frozen
		switch {
		case !rest.Equal(c.rest) && frozen:
			h.settle(incubation.Good, "", "")
		case !ok:
			c.rest = time.Time{} // nothing is known of how it was when the rest began
		case !rest.Equal(c.rest):
			c.rest, c.others = rest, level
		case rest.IsZero(), frozen, now.Sub(rest) < restBeside, math.Abs(level-c.others) < wentBeside:
		default:
			h.settle(incubation.Frozen, fmt.Sprintf("What is around it has gone from %s to %s meanwhile.",
				alerts.Amount(c.others, "celsius", m.scale()), alerts.Amount(level, "celsius", m.scale())), "")
		}
	}
}

// levelBeside is the mean of what lies beside a probe, or around its box.
func (m *Monitor) levelBeside(probe string, said map[string]float64) (float64, bool) {
	now := m.clock.now
	at, ok := placement(m.book, probe, now)
	if !ok {
		return 0, false
	}
	var all mean
	for _, place := range []string{at.Stay.Place, m.inIncubator(probe, now)} {
		for _, id := range m.around(place, said, now) {
			if id != probe {
				all.add(said[id])
			}
		}
	}
	return all.value()
}
