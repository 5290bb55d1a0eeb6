package monitor

import (
	"fmt"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A Countdown is how long an incubator without heat stays warm enough.
type Countdown struct {
	Celsius incubation.Celsius // now, where it is coolest
	Limit   incubation.Celsius // under which it is too cool: see coldLimit
	// Likely and Early are until it is under that, zero if it is already; Early
	// is for one that loses its warmth as fast as 5 % do.
	Likely, Early time.Duration
	Never         bool // the room is warm enough, as long as it stays so
	Guess         bool // nobody has seen it cool yet: a typical cabinet's curve
}

// coolsNow fills in how the incubators cool, and how long those whose mains
// are off stay warm enough.
func (m *Monitor) coolsNow(places []PlaceNow) {
	for i := range places {
		p := &places[i]
		if p.Kind != incubation.Incubator {
			continue
		}
		if curve := m.curve(p.ID); curve.Learned() {
			p.Cooling = &curve
		}
		if p.Mains.Off {
			p.Countdown = m.countdown(*p, places)
		}
	}
}

// countdown is how long an incubator stays warm enough; nil: nothing is read
// in it now. One that has no probe goes by the coolest of its boxes. The room
// is taken to keep its temperature; if nobody measures it, to be coolRoom.
func (m *Monitor) countdown(p PlaceNow, all []PlaceNow) *Countdown {
	from, of := p.Coolest, p.ID
	for _, o := range all {
		own := p.Coolest == nil && o.In == p.ID && o.Kind == incubation.Box && o.Coolest != nil
		if own && (from == nil || *o.Coolest < *from) {
			from, of = o.Coolest, o.ID
		}
	}
	if from == nil {
		return nil
	}
	room := float64(coolRoom)
	if r := roomAround(p, all); r != nil {
		room = float64(*r)
	}
	curve, limit := m.curve(of), m.coldAt(p)
	reach, falls := curve.Until(float64(*from), room, limit)
	return &Countdown{
		Celsius: *from, Limit: incubation.Celsius(limit), Likely: reach.Likely, Early: reach.Early,
		Never: !falls, Guess: !curve.Learned(),
	}
}

// under reports whether it is too cool already.
func (c Countdown) under() bool { return c.Celsius <= c.Limit }

// order puts what is too cool first, and what never will be last.
func (c Countdown) order() time.Duration {
	switch {
	case c.under():
		return -1
	case c.Never:
		return 1 << 62
	}
	return c.Likely
}

// says counts down for one incubator: "Incubator 1 (31.2 °C) falls under
// 26.0 °C in about 2 h 10 min".
func (c Countdown) says(name string, scale alerts.Scale) string {
	celsius := func(v incubation.Celsius) string { return alerts.Amount(float64(v), "celsius", scale) }
	text := fmt.Sprintf("%s (%s) ", name, celsius(c.Celsius))
	switch {
	case c.under():
		return text + "is under " + celsius(c.Limit) + " already"
	case c.Never:
		return text + "stays over " + celsius(c.Limit) + " while the room stays as warm"
	}
	text += fmt.Sprintf("falls under %s in about %s", celsius(c.Limit), inAbout(c.Likely))
	if c.Guess {
		text += " (a guess: typical cabinet)"
	}
	return text
}
