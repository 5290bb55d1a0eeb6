package monitor

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// Probes in one incubator keep their differences, the shelves': these are
// learned over the first two days and compared, each half day, with the mean of
// the last two half days' medians: a day and a night, for the room's cold
// makes shelves differ more. Half days in which the incubator itself went
// somewhere tell nothing.
//
// What two may come apart by is three tenths of a kelvin, four tenths of the
// difference itself, for it grows and shrinks with the room's weather, and
// three of its own deviations. Judgement, and what the tests measure.
const (
	halfDay      = 72 // blocks
	halfEnough   = 36
	learnHalves  = 4
	apartLeast   = 0.3 // K
	apartShare   = 0.4
	apartSigmas  = 3
	apartHalves  = 2   // in a row
	apartOthers  = 0.4 // of what they may: how far the others must be from the one that is wrong
	upsetRange   = 1.5 // K between the hours of one half day
	sameFromHere = 1.0 // K that one place may differ by within
)

// A circle is probes that can be compared: those of one incubator and its
// boxes, or of one other place.
type circle struct {
	key    string // who is in it, and where
	blocks int
	said   map[string][]float64
	halves []map[string]float64 // while learning
	before map[string]float64   // the half day before
	base   map[string]float64
	noise  map[[2]string]float64
	apart  map[[2]string]int // half days in a row
}

// drifting compares the probes of each circle. Caller holds mu.
func (m *Monitor) drifting(said map[string]float64, now time.Time) {
	members := map[string][]string{}
	for _, id := range slices.Sorted(maps.Keys(m.probes)) {
		at, ok := placement(m.book, id, now)
		if !ok {
			continue
		}
		where := m.inIncubator(id, now)
		if where == "" {
			where = at.Stay.Place
		}
		members[where] = append(members[where], id)
	}
	for where, ids := range members {
		var key strings.Builder
		for _, id := range ids {
			key.WriteString(id + " " + m.probes[id].trusted.company.key + "; ")
		}
		c := m.circles[where]
		if c == nil || c.key != key.String() {
			c = &circle{key: key.String(), said: map[string][]float64{}, apart: map[[2]string]int{}}
			m.circles[where] = c
		}
		c.see(ids, said)
		if c.blocks >= halfDay {
			m.halfDay(c, ids)
		}
	}
	for where := range m.circles {
		if members[where] == nil {
			delete(m.circles, where)
		}
	}
}

func (c *circle) see(ids []string, said map[string]float64) {
	c.blocks++
	for _, id := range ids {
		if v, ok := said[id]; ok {
			c.said[id] = append(c.said[id], v)
		}
	}
}

// halfDay judges the half day that is over.
func (m *Monitor) halfDay(c *circle, ids []string) {
	level, calm := map[string]float64{}, true
	for id, blocks := range c.said {
		if v := m.probes[id].trusted.verdict; v.Broken() || v == incubation.Swapped || len(blocks) < halfEnough {
			continue
		}
		level[id] = middle(blocks)
		calm = calm && !upset(blocks)
	}
	c.blocks, c.said = 0, map[string][]float64{}
	if !calm || len(level) < 2 {
		c.before = nil
		return
	}
	before := c.before
	c.before = level
	switch {
	case c.base == nil:
		c.learn(level)
	case before != nil:
		m.vote(c, ids, halfway(before, level))
	}
}

// learn takes a half day to compare others with.
func (c *circle) learn(level map[string]float64) {
	if c.halves = append(c.halves, level); len(c.halves) < learnHalves {
		return
	}
	c.base, c.noise = map[string]float64{}, map[[2]string]float64{}
	for id := range level {
		var all mean
		for _, h := range c.halves {
			if v, ok := h[id]; ok {
				all.add(v)
			}
		}
		c.base[id], _ = all.value()
	}
	for a := range c.base {
		for b := range c.base {
			var off []float64
			for i := 1; i < len(c.halves) && a < b; i++ {
				day := halfway(c.halves[i-1], c.halves[i])
				if len(day) > 0 {
					off = append(off, math.Abs((day[a]-day[b])-(c.base[a]-c.base[b])))
				}
			}
			c.noise[[2]string{a, b}] = 1.4826 * middle(off)
		}
	}
	c.halves = nil
}

// halfway is the mean of two half days, of those that both know.
func halfway(a, b map[string]float64) map[string]float64 {
	out := map[string]float64{}
	for id, v := range a {
		if w, ok := b[id]; ok {
			out[id] = (v + w) / 2
		}
	}
	return out
}

// A gulf is how far two probes have come apart since their difference was
// learned, and by how much of what they may.
type gulf struct{ kelvin, share float64 }

// gulf measures one between a and b; zero where nothing is known of one.
func (m *Monitor) gulf(c *circle, a, b string, level map[string]float64) gulf {
	baseA, knownA := c.base[a]
	baseB, knownB := c.base[b]
	nowA, heardA := level[a]
	nowB, heardB := level[b]
	if !knownA || !knownB || !heardA || !heardB {
		return gulf{}
	}
	base := baseA - baseB
	kelvin := nowA - nowB - base
	most := apartLeast + apartShare*math.Abs(base) + apartSigmas*c.noise[[2]string{a, b}]
	g := gulf{kelvin, math.Abs(kelvin) / most}
	x, one := placement(m.book, a, m.clock.now)
	y, two := placement(m.book, b, m.clock.now)
	if one && two && x.Stay.Place == y.Stay.Place && x.Position == y.Position {
		d := nowA - nowB
		if share := math.Abs(d) / (sameFromHere + m.accuracy(x) + m.accuracy(y)); share > max(g.share, 1) {
			g = gulf{d, share}
		}
	}
	return g
}

func (m *Monitor) accuracy(at incubation.Placement) float64 {
	switch {
	case at.Accuracy > 0:
		return at.Accuracy
	case m.probes[at.Probe].probe.Accuracy > 0:
		return m.probes[at.Probe].probe.Accuracy
	}
	return incubation.UnknownAccuracy
}

// vote finds who is wrong. Of two that are apart it is the one that all others
// have come away from too, by twice as much as from the other; where these
// cannot tell, or there are none, both are named and neither is condemned.
func (m *Monitor) vote(c *circle, ids []string, level map[string]float64) {
	gulfs, sums := map[[2]string]gulf{}, map[string]float64{}
	for i, a := range ids {
		for _, b := range ids[i+1:] {
			g := m.gulf(c, a, b, level)
			gulfs[[2]string{a, b}] = g
			sums[a], sums[b] = sums[a]+g.share, sums[b]+g.share
		}
	}
	wrong, unsure := map[string][]string{}, map[string][]string{}
	by := map[string]float64{}
	for pair, g := range gulfs {
		if g.share <= 1 {
			c.apart[pair] = 0
			continue
		}
		if c.apart[pair]++; c.apart[pair] < apartHalves {
			continue
		}
		a, b := pair[0], pair[1]
		by[a], by[b] = max(by[a], math.Abs(g.kelvin)), max(by[b], math.Abs(g.kelvin))
		switch x, y := sums[a]-g.share, sums[b]-g.share; {
		case x > 2*y && x >= apartOthers*float64(len(level)-2):
			wrong[a] = append(wrong[a], b)
		case y > 2*x && y >= apartOthers*float64(len(level)-2):
			wrong[b] = append(wrong[b], a)
		default:
			unsure[a], unsure[b] = append(unsure[a], b), append(unsure[b], a)
		}
	}
	for id := range level {
		open := slices.DeleteFunc(unsure[id], func(other string) bool { return wrong[other] != nil })
		m.condemn(id, wrong[id], open, by[id])
	}
}

// condemn settles what the vote says of one probe: that it is wrong, as those
// beside it show, or that it or another is.
func (m *Monitor) condemn(id string, wrong, unsure []string, by float64) {
	h := &m.probes[id].trusted
	was := h.verdict == incubation.Drifting || h.verdict == incubation.Disagreeing
	if h.verdict.Doubtful() && !was {
		return
	}
	kelvin := alerts.Difference(by, m.scale())
	switch {
	case len(wrong) > 0:
		h.settle(incubation.Drifting, fmt.Sprintf("It has come %s away from %s.", kelvin, listOf(wrong)), "")
	case len(unsure) > 0:
		h.settle(incubation.Disagreeing,
			fmt.Sprintf("It and %s have come %s apart: either may be wrong.", listOf(unsure), kelvin),
			strings.Join(slices.Sorted(slices.Values(append(slices.Clone(unsure), id))), " "))
	case was:
		h.settle(incubation.Good, "", "")
	}
}

// listOf lists probes for people.
func listOf(ids []string) string {
	slices.Sort(ids)
	if n := len(ids); n > 1 {
		return strings.Join(ids[:n-1], ", ") + " and " + ids[n-1]
	}
	return strings.Join(ids, "")
}

// upset reports whether the hours of a half day are far apart.
func upset(blocks []float64) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for hour := range slices.Chunk(blocks, 6) {
		var m mean
		for _, v := range hour {
			m.add(v)
		}
		v, _ := m.value()
		low, high = min(low, v), max(high, v)
	}
	return high-low > upsetRange
}

// middle is the median, 0 of nothing.
func middle(values []float64) float64 {
	all := slices.Sorted(slices.Values(values))
	if len(all) == 0 {
		return 0
	}
	return (all[(len(all)-1)/2] + all[len(all)/2]) / 2
}
