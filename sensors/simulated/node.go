package simulated

import (
	"math"
	"slices"
	"time"
)

// A node is one thing that has a temperature. Node 0 is the room, which
// follows the weather; every other follows its parent with a first-order lag:
// over a step with its target held, T' = target + (T − target)·exp(−step/lag).
type node struct {
	place     string
	parent    int
	lag       time.Duration
	decay     float64 // exp(−step/lag)
	shelf     float64
	air       Air
	cabinet   *Cabinet
	enclosure *Enclosure
	tub       *Tub
}

// openLosses is how many times faster a cabinet loses heat with its door open.
const openLosses = 6

// flow is the difference to the room at which a tub's shelf offset is stated.
const flow = 8

// build lays out the nodes and settles them.
func (r *Room) build() {
	r.index = map[string]int{}
	w := r.spec.Weather
	r.add(node{place: w.Place, air: w.Air}, r.outside(r.start))
	for i := range r.spec.Cabinets {
		c := &r.spec.Cabinets[i]
		lag := time.Duration(c.Capacity / c.Losses * float64(time.Second))
		r.add(node{place: c.Place, lag: lag, air: c.Air, cabinet: c}, c.aim(r.start))
	}
	for i := range r.spec.Enclosures {
		e := &r.spec.Enclosures[i]
		n := node{place: e.Place, lag: e.Lag, air: e.Air, enclosure: e}
		r.add(n, r.heat.celsius[0]+e.rise(r.start))
	}
	for _, t := range r.spec.Tubs {
		n := node{place: t.Place, parent: r.index[t.In], lag: t.Lag, shelf: t.Shelf, air: t.Air, tub: &t}
		c := r.heat.celsius[r.outer(&n, r.start)] // where it stands by now
		r.add(n, c+n.offset(c, r.heat.celsius[0], 1))
	}
	r.heat.feels = slices.Clone(r.heat.celsius)
	r.heat.on = make([]bool, len(r.nodes))
	r.marks = []heat{r.heat.clone()}
}

func (r *Room) add(n node, celsius float64) {
	if n.lag > 0 {
		n.decay = math.Exp(-float64(r.step) / float64(n.lag))
	}
	r.index[n.place] = len(r.nodes)
	r.nodes = append(r.nodes, n)
	r.heat.celsius = append(r.heat.celsius, celsius)
}

// offset gives how much warmer a tub comes to lie than what it stands in, as a
// fan that stirs the air leaves it or not.
func (n *node) offset(parent, room, unstirred float64) float64 {
	return n.shelf * unstirred * (parent - room) / flow
}

// outer gives what a node stands in at t.
func (r *Room) outer(n *node, t time.Time) int {
	if n.tub == nil {
		return n.parent
	}
	if r.broken(Out, n.place, t) {
		return 0
	}
	in := n.parent
	for _, m := range n.tub.Moves {
		if !m.From.After(t) {
			in = r.index[m.In]
		}
	}
	return in
}

// aim gives what the cabinet's air is held at.
func (c *Cabinet) aim(t time.Time) float64 {
	aim := c.Settings[0].Celsius
	for _, s := range c.Settings {
		if !s.From.After(t) {
			aim = s.Celsius
		}
	}
	return aim + c.DialError
}

// rise gives how far the enclosure is warmed above the room.
func (e *Enclosure) rise(t time.Time) float64 {
	if since := math.Mod(hour(t)-e.Dawn+24, 24); since < 12 {
		return e.DayRise
	}
	return e.NightRise
}

// advance lives through one step. A child is driven by the mean of its
// parent over the step, which for lags of minutes and steps of seconds is as
// good as exact.
func (r *Room) advance() {
	t := r.time(r.heat.count)
	r.heat.count++
	r.before = append(r.before[:0], r.heat.celsius...)
	r.heat.celsius[0] = r.outside(r.time(r.heat.count))
	room := r.mean(0)
	for i := 1; i < len(r.nodes); i++ {
		n := &r.nodes[i]
		if n.cabinet != nil {
			r.heat.celsius[i] = r.warmed(i, room, t)
			continue
		}
		outer := r.outer(n, t)
		target := r.mean(outer)
		if n.shelf != 0 && outer != 0 {
			target += n.offset(target, room, r.size(Stirless, r.nodes[outer].place, t))
		}
		if n.enclosure != nil && !r.broken(Tripped, n.place, t) {
			target += n.enclosure.rise(t)
		}
		decay := n.decay
		if f, is := r.fault(Lidless, n.place, t); is && n.tub != nil {
			decay = math.Pow(decay, f.Size)
		}
		r.heat.celsius[i] = target + (r.before[i]-target)*decay
	}
}

// mean gives a node's temperature in the middle of the step just lived.
func (r *Room) mean(i int) float64 { return (r.before[i] + r.heat.celsius[i]) / 2 }

// warmed gives a cabinet's temperature a step later.
func (r *Room) warmed(i int, room float64, t time.Time) float64 {
	n := &r.nodes[i]
	losses, decay := n.cabinet.Losses, n.decay
	if r.broken(Open, n.place, t) {
		losses *= openLosses
		decay = math.Pow(decay, openLosses)
	}
	target := room + r.duty(i, room, t)*n.cabinet.Watts/losses
	if lag := n.cabinet.Feeler; lag > 0 {
		r.heat.feels[i] = r.before[i] + (r.heat.feels[i]-r.before[i])*math.Exp(-float64(r.step)/float64(lag))
	}
	return target + (r.before[i]-target)*decay
}

// duty gives the share of its power that a cabinet's heater gives.
func (r *Room) duty(i int, room float64, t time.Time) float64 {
	c := r.nodes[i].cabinet
	return r.called(i, room, t) * r.size(Weak, c.Place, t)
}

// called gives the share that the thermostat calls for.
func (r *Room) called(i int, room float64, t time.Time) float64 {
	c, now := r.nodes[i].cabinet, r.heat.feels[i]
	if c.Feeler <= 0 {
		now = r.before[i]
	}
	if r.broken(Tripped, c.Place, t) {
		return 0
	}
	if r.broken(StuckOn, c.Place, t) {
		return 1
	}
	aim := c.aim(t) + r.astray(c.Place, t)
	if c.Hysteresis <= 0 {
		return min(1, max(0, (aim-room)*c.Losses/c.Watts+(aim-now)))
	}
	switch {
	case now < aim-c.Hysteresis/2:
		r.heat.on[i] = true
	case now > aim+c.Hysteresis/2:
		r.heat.on[i] = false
	}
	if r.heat.on[i] {
		return 1
	}
	return 0
}
