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
// learned over the first two days and compared with half-day medians from then
// on. Half days in which the incubator itself went somewhere tell nothing.
//
// What two may come apart by is three tenths of a kelvin, three tenths of the
// difference itself, for it grows and shrinks with the cold of the room, and
// six of its own deviations. Judgement, and what the tests measure.
const (
	halfDay      = 72 // blocks
	halfEnough   = 36
	learnHalves  = 4
	apartLeast   = 0.3 // K
	apartShare   = 0.3
	apartSigmas  = 6
	apartHalves  = 2   // in a row
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
	base   map[string]float64
	noise  float64
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
	switch {
	case !calm || len(level) < 2:
		return
	case c.base == nil:
		c.learn(level)
	}
	if c.base != nil {
		m.vote(c, ids, level)
	}
}

// learn takes a half day to compare others with.
func (c *circle) learn(level map[string]float64) {
	if c.halves = append(c.halves, level); len(c.halves) < learnHalves {
		return
	}
	c.base = map[string]float64{}
	for id := range level {
		var all []float64
		for _, h := range c.halves {
			if v, ok := h[id]; ok {
				all = append(all, v)
			}
		}
		c.base[id] = middle(all)
	}
	var off []float64
	for _, h := range c.halves {
		for a := range c.base {
			for b := range c.base {
				if _, ok := h[a]; ok && a < b {
					off = append(off, math.Abs((h[a]-h[b])-(c.base[a]-c.base[b])))
				}
			}
		}
	}
	c.noise, c.halves = 1.4826*middle(off), nil
}

// came is by how much a has come away from b since their difference was
// learned; far: by more than it may.
func (m *Monitor) came(c *circle, a, b string, level map[string]float64) (kelvin float64, far bool) {
	baseA, ok := c.base[a]
	baseB, both := c.base[b]
	if !ok || !both {
		return 0, false
	}
	base := baseA - baseB
	kelvin = level[a] - level[b] - base
	if math.Abs(kelvin) > max(apartLeast+apartShare*math.Abs(base), apartSigmas*c.noise) {
		return kelvin, true
	}
	x, one := placement(m.book, a, m.clock.now)
	y, two := placement(m.book, b, m.clock.now)
	if one && two && x.Stay.Place == y.Stay.Place && x.Position == y.Position {
		if d := level[a] - level[b]; math.Abs(d) > sameFromHere+m.accuracy(x)+m.accuracy(y) {
			return d, true
		}
	}
	return kelvin, false
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

// vote finds who is wrong: a probe that most others have come away from, while
// of these at least two agree. Where nobody can tell, all that are apart are
// named and none is condemned.
func (m *Monitor) vote(c *circle, ids []string, level map[string]float64) {
	wrong := map[string][]string{} // with whom each is apart
	by := map[string]float64{}
	for i, a := range ids {
		for _, b := range ids[i+1:] {
			pair := [2]string{a, b}
			_, heardA := level[a]
			_, heardB := level[b]
			kelvin, far := 0.0, false
			if heardA && heardB {
				kelvin, far = m.came(c, a, b, level)
			}
			if !far {
				c.apart[pair] = 0
				continue
			}
			if c.apart[pair]++; c.apart[pair] >= apartHalves {
				wrong[a], wrong[b] = append(wrong[a], b), append(wrong[b], a)
				by[a], by[b] = by[a]+kelvin, by[b]-kelvin
			}
		}
	}
	var out []string
	for id, with := range wrong {
		if 2*len(with) > len(level)-1 {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	majority := len(level)-len(out) >= 2
	for id := range level {
		m.condemn(id, slices.Contains(out, id), majority, wrong[id], by[id])
	}
}

// condemn settles what the vote says of one probe. A verdict stays until the
// probe agrees again or the book tells of it anew.
func (m *Monitor) condemn(id string, out, majority bool, with []string, by float64) {
	h := &m.probes[id].trusted
	was := h.verdict == incubation.Drifting || h.verdict == incubation.Disagreeing
	if !out {
		if was {
			h.settle(incubation.Good, "", "")
		}
		return
	}
	if h.verdict.Doubtful() && !was {
		return
	}
	kelvin := alerts.Difference(math.Abs(by)/float64(len(with)), m.scale())
	if majority {
		h.settle(incubation.Drifting, fmt.Sprintf("It has come %s away from %s, which agree.", kelvin, names(with)), "")
		return
	}
	h.settle(incubation.Disagreeing,
		fmt.Sprintf("It and %s have come %s apart: either may be wrong.", names(with), kelvin),
		strings.Join(slices.Sorted(slices.Values(append(slices.Clone(with), id))), " "))
}

func names(ids []string) string {
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
