package season

import (
	"fmt"
	"math"
	"time"
)

// openings learns on which day of the year seasons begin: as days from the
// starting value, so that no year's end lies in between. Of several years of
// one female the mean is that of directions on a circle.
func (h *Herd) openings() *pool {
	start := h.values[SeasonOpens]
	about := start
	about.Value, about.Low, about.High = 0, start.Low-start.Value, start.High-start.Value
	own := map[string][]float64{}
	for id, c := range h.courses {
		for _, t := range h.begun(c) {
			if !h.season.Holds(t) {
				own[id] = append(own[id], h.fromStart(t))
			}
		}
		if len(own[id]) > 1 {
			own[id] = around(own[id])
		}
	}
	return learnt(about, own)
}

// begun gives the beginnings of her seasons: the first sign of a cycle in each,
// follicles or what follows them. Where the first sign is a laying, she was
// ready for as long before as a clutch takes from the first pairing. A season
// into which she went on laying from the last has no beginning.
func (h *Herd) begun(c *course) []time.Time {
	var out []time.Time
	var last time.Time
	for _, t := range c.signs {
		s := h.seasonAt(t)
		if s.Holds(last) || !last.IsZero() && t.Sub(last) <= days(h.value(PauseInLaying)) {
			last = t
			continue
		}
		last = t
		if c.laidAt(t) {
			t = t.Add(-days(h.value(PairingToClutch)))
		}
		if s.Holds(t) {
			out = append(out, t)
		}
	}
	return out
}

func (c *course) laidAt(t time.Time) bool {
	for _, l := range c.laid {
		if l.at.Equal(t) {
			return true
		}
	}
	return false
}

const year = 365.25

// fromStart gives how many days t lies after the nearest day on which seasons
// start by the starting value: from -183 to 183.
func (h *Herd) fromStart(t time.Time) float64 {
	d := math.Mod(dayCount(t.Sub(h.opensIn(h.seasonAt(t)))), year)
	switch {
	case d > year/2:
		return d - year
	case d < -year/2:
		return d + year
	}
	return d
}

// opensIn is when a season opens by the starting value.
func (h *Herd) opensIn(s Season) time.Time {
	turn := s.From.In(h.zone).AddDate(0, 3, 0) // 1 January in the north, 1 July in the south
	return turn.AddDate(0, 0, int(h.value(SeasonOpens))-1).UTC()
}

// around gives the days moved, as one, to where their circular mean is: the
// ring is cut opposite to it.
func around(xs []float64) []float64 {
	sin, cos := 0.0, 0.0
	for _, x := range xs {
		sin += math.Sin(x * 2 * math.Pi / year)
		cos += math.Cos(x * 2 * math.Pi / year)
	}
	mean := math.Atan2(sin, cos) * year / (2 * math.Pi)
	out := make([]float64, len(xs))
	for i, x := range xs {
		d := math.Mod(x-mean, year)
		if d > year/2 {
			d -= year
		} else if d < -year/2 {
			d += year
		}
		out[i] = mean + d
	}
	return out
}

// openLate is how long after its time an opening is still looked for every
// week. Judgement.
const openLate = 2 * 30 * 24 * time.Hour

// opening is when her season begins: this one, or the next once this one has,
// or once its time is past by more than late.
func (h *Herd) opening(female string, late time.Duration) Opening {
	l := h.openers.of(female)
	out := Opening{Own: l.Own, Herd: l.Herd, Says: l.Says}
	if l.Own > 0 {
		out.Says = fmt.Sprintf("%d of her past years, %d of the herd's", l.Own, l.Herd)
	}
	s := h.season
	if c := h.courses[female]; c != nil {
		if out.Begun = h.begunIn(c, s); !out.Begun.IsZero() {
			s = h.seasonAt(s.To)
		}
	}
	at := func(d float64) time.Time { return h.opensIn(s).Add(days(d)) }
	mean, _ := h.openers.mean(female)
	for range 2 { // an opening may lie before the cut that its season begins with
		if h.now.After(at(mean + z80*l.SD).Add(late)) {
			s = h.seasonAt(s.To)
		}
	}
	out.From, out.Likely, out.By = at(mean-z80*l.SD), at(mean), at(mean+z80*l.SD)
	out.Look = h.midnight(out.Likely.Add(-days(h.value(LookEarlier))))
	if l.Own == 0 && out.From.Before(out.Look) {
		out.Look = h.midnight(out.From) // of one that nobody knows, from the earliest
	}
	return out
}

// begunIn is when the first sign of a cycle was in a season; zero: none was.
func (h *Herd) begunIn(c *course, s Season) time.Time {
	for _, t := range c.signs {
		if s.Holds(t) {
			return t
		}
	}
	return time.Time{}
}
