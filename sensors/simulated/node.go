package simulated

import (
	"math"
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
		n := node{place: t.Place, parent: r.index[t.In], lag: t.Lag, shelf: t.Shelf, air: t.Air}
		c := r.heat.celsius[n.parent]
		r.add(n, c+n.offset(c, r.heat.celsius[0]))
	}
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

// offset gives how much warmer a tub comes to lie than what it stands in.
func (n *node) offset(parent, room float64) float64 {
	return n.shelf * (parent - room) / flow
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
		target := r.mean(n.parent)
		target += n.offset(target, room)
		if n.enclosure != nil && !r.broken(Tripped, n.place, t) {
			target += n.enclosure.rise(t)
		}
		r.heat.celsius[i] = target + (r.before[i]-target)*n.decay
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
	return target + (r.before[i]-target)*decay
}

// duty gives the share of its power that a cabinet's heater gives.
func (r *Room) duty(i int, room float64, t time.Time) float64 {
	c, now := r.nodes[i].cabinet, r.before[i]
	if r.broken(Tripped, c.Place, t) {
		return 0
	}
	if r.broken(StuckOn, c.Place, t) {
		return 1
	}
	aim := c.aim(t)
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
