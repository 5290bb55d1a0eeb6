package monitor

import (
	"fmt"
	"math"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A box smooths what the air around it does: of the thermostat's swing little
// gets in. A probe that slipped out of it shows the whole swing at once, or,
// where it fell further, another level that nothing around it follows.
//
// Shares are of squares: half the square is seven tenths of the swing. What
// the swing must be is four times what one step of a usual chip makes of
// nothing (0.0625/√12 K). Judgement, all but the last.
const (
	swingLeast  = 0.0013 // K²
	boxKeeps    = 0.2    // share that a box lets in, at most, to be told by it
	outsideFrom = 0.5    // share from which it is outside
	followFor   = 6      // blocks
	fallLeast   = 1.5    // K
	fallAtOnce  = 0.5    // share of it within one block: the inside of a box is slower
	fallFor     = 4      // blocks: a lid that is off for half an hour is no news
	aroundMoves = 0.5    // K: if the air around moved by more, that is why
	slope       = 0.25   // K in half an hour
	stillFor    = 9      // blocks: a box follows on for some time
	homeWithin  = 0.5    // K
	homeFor     = 3      // blocks
)

// slipped finds probes that lie outside their box, and those that were put
// back. Caller holds mu.
func (m *Monitor) slipped(said map[string]float64, now time.Time) {
	for id := range said {
		in := m.inIncubator(id, now)
		if in == "" {
			continue
		}
		h := &m.probes[id].trusted
		air := m.around(in, said, now)
		switch share, ok := m.lets(h, air); {
		case h.verdict == incubation.Swapped, h.verdict == incubation.Frozen:
		case h.verdict == incubation.Slipped:
			m.back(h, share, ok)
		case h.follow(share, ok):
			h.settle(incubation.Slipped, "It shows every swing of the air around its box, which it did not before.", "")
		default:
			m.fell(h, air)
		}
	}
}

// lets gives the share of the swing around a box that its probe shows. Where
// everything cools after a power cut, or warms behind a stuck thermostat, there
// is no swing: a slope gets into the box as it is.
func (m *Monitor) lets(h *heard, air []string) (float64, bool) {
	swing, n := 0.0, 0
	h.company.still++
	for _, c := range m.companies(h, air) {
		if c.leans() > slope {
			c.ripple, h.company.still = ripple{}, 0
		}
	}
	if h.company.still < stillFor {
		return 0, false
	}
	for _, id := range air {
		if square, known := m.probes[id].trusted.company.ripple.usual(); known {
			swing += square
			n++
		}
	}
	own, known := h.company.ripple.usual()
	if n == 0 || swing/float64(n) < swingLeast || !known {
		return 0, false
	}
	return own / (swing / float64(n)), true
}

// companies gives what is learned of a probe and of those around it.
func (m *Monitor) companies(h *heard, air []string) []*company {
	all := []*company{&h.company}
	for _, id := range air {
		all = append(all, &m.probes[id].trusted.company)
	}
	return all
}

// follow takes the share, and reports whether it has been that of the outside
// for too long.
func (h *heard) follow(share float64, ok bool) bool {
	c := &h.company
	usual := c.lag.kelvin
	switch {
	case !ok:
		c.follows = 0
	case c.lag.record >= learnFrom && usual < boxKeeps && share > outsideFrom:
		c.follows++
	default:
		c.follows = 0
		c.lag.learn(share, incubation.BlockLength)
	}
	return c.follows >= followFor
}

// fell finds a probe that went to another level within minutes, which nothing
// around it did.
func (m *Monitor) fell(h *heard, air []string) {
	c := &h.company
	off, ok := c.off()
	if !ok || math.Abs(off) < fallLeast || len(air) == 0 {
		return
	}
	for _, id := range air {
		// The air may be back already from what the box still has to live down.
		a := &m.probes[id].trusted.company
		if by, known := a.off(); !known || math.Abs(by) > aroundMoves || a.went() >= fallAtOnce*math.Abs(off) {
			return
		}
	}
	if c.away >= fallFor && c.left() >= fallAtOnce*math.Abs(off) {
		l, _ := c.usual()
		h.settle(incubation.Slipped, fmt.Sprintf("It went from %s to %s within minutes, and the air around its box did not.",
			alerts.Amount(l, "celsius", m.scale()), alerts.Amount(c.newest(), "celsius", m.scale())), "")
	}
}

// back ends the verdict on a probe that is home again.
func (m *Monitor) back(h *heard, share float64, ok bool) {
	c := &h.company
	off, known := c.off()
	if known && math.Abs(off) < homeWithin && (!ok || share < outsideFrom/2) {
		c.calm++
	} else {
		c.calm = 0
	}
	if c.calm >= homeFor {
		h.settle(incubation.Good, "", "")
		c.follows = 0
	}
}
