package monitor

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"clutchd/incubation"
)

// Probes that change places change levels. What is told apart must be further
// apart than twice what still counts as the same. Judgement.
const (
	swapLeast = 0.6  // K between the two levels
	swapFits  = 0.25 // of that: how far each may be from the other's
	swapFor   = 3    // blocks since both went
	swapAgree = 1    // blocks between the one's going and the other's, at most
)

// swapped finds two probes that went to one another's level at one time, and
// those that came back. Caller holds mu.
func (m *Monitor) swapped(said map[string]float64) {
	var gone []string
	for _, id := range slices.Sorted(maps.Keys(said)) {
		h := &m.probes[id].trusted
		c := &h.company
		off, ok := c.off()
		switch {
		case !ok:
		case h.verdict == incubation.Swapped:
			if c.calm++; math.Abs(off) > strayBy {
				c.calm = 0
			}
			if c.calm >= homeFor {
				h.settle(incubation.Good, "", "")
			}
		case c.away >= swapFor && math.Abs(off) >= swapLeast*(1-swapFits) && h.verdict != incubation.Frozen:
			gone = append(gone, id)
		}
	}
	for i, a := range gone {
		for _, b := range gone[i+1:] {
			if x, y := &m.probes[a].trusted, &m.probes[b].trusted; exchanged(&x.company, &y.company) {
				x.settle(incubation.Swapped, swapText(a, b), a+" "+b)
				y.settle(incubation.Swapped, swapText(a, b), a+" "+b)
			}
		}
	}
}

func swapText(a, b string) string {
	return fmt.Sprintf("Since one moment %s reads what %s used to, and %s what %s did.", a, b, b, a)
}

// exchanged reports whether each of two probes has been where the other was since
// about the same time.
func exchanged(a, b *company) bool {
	x, known := a.usual()
	y, both := b.usual()
	nowX, heardX := a.lately(swapFor)
	nowY, heardY := b.lately(swapFor)
	apart := math.Abs(x - y)
	within := swapFits * apart
	since := a.away - b.away
	return known && both && heardX && heardY && apart >= swapLeast && since*since <= swapAgree*swapAgree &&
		math.Abs(nowX-y) <= within && math.Abs(nowY-x) <= within
}
