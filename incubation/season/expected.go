package season

import (
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
)

// Rhythm gives a female's; of one that the book does not know what any female
// starts with.
func (h *Herd) Rhythm(female string) Rhythm {
	r := Rhythm{
		Female: female, Season: h.season, Interval: h.pools[BetweenClutches].of(female),
		Cycle: h.pools[CycleUnbred].of(female), Gravid: h.pools[GravidToLaying].of(female),
		Pause: h.pools[AfterResorption].of(female), Opens: h.opening(female, 0),
	}
	if c := h.courses[female]; c != nil {
		r.Clutches = c.laidIn(h.season)
		r.Next = h.next(c)
	}
	return r
}

func (c *course) laidIn(s Season) int {
	n := 0
	for _, l := range c.laid {
		if s.Holds(l.at) {
			n++
		}
	}
	return n
}

// A guess is one way to date her next laying: so long after something seen.
type guess struct {
	at  time.Time
	sd  float64 // days
	why string
}

// point is where the guess stands so many standard deviations from its middle.
func (g guess) point(z float64) time.Time { return g.at.Add(days(g.sd * z)) }

// z is how many standard deviations t lies behind the guess's middle.
func (g guess) z(t time.Time) float64 { return dayCount(t.Sub(g.at)) / g.sd }

// next is the laying that is expected. What is seen of it dates it: white eggs,
// shells, the interval since the last clutch; until the first clutch of a
// season the first pairing. Those that hold at a time are taken as independent,
// so that each counts by the inverse of its variance. What her belly rules out
// is cut off; where that is the whole window, nothing dates the next laying.
func (h *Herd) next(c *course) *Expected {
	if c.phase.stage == incubation.Resorbed || !c.animal.Here() {
		return nil
	}
	guesses, comes := h.guesses(c)
	if len(guesses) == 0 {
		return nil
	}
	g := joined(guesses)
	e := &Expected{
		Probability: band, Comes: comes, Rests: g.why,
		From: g.point(-z80), Likely: g.at, By: g.point(z80),
	}
	early, why := h.notBefore(c)
	if !c.phase.carries() {
		if g.z(early) > skipped {
			return nil
		}
		still := 1 - phi(g.z(c.notLaid())) // of the layings, those that had not come then
		e.Comes = comes * still / (comes*still + 1 - comes)
	}
	h.cutOff(e, g, early, why)
	e.Past = h.now.After(e.By)
	return e
}

// guesses gives the ways to date her next laying, and the chance of one.
func (h *Herd) guesses(c *course) (out []guess, comes float64) {
	add := func(since time.Time, key, what string) {
		l := h.pools[key].of(c.animal.ID)
		out = append(out, guess{
			since.Add(days(l.Days)), l.SD,
			fmt.Sprintf("%s on %s, %s", what, h.day(since), h.usually(l)),
		})
	}
	n := c.laidIn(h.season)
	last, recent := c.lastLaid(), false
	if len(c.laid) > 0 {
		last = c.laid[len(c.laid)-1].at
		recent = h.season.Holds(last) || c.phase.carries() && h.now.Sub(last) <= days(h.value(PauseInLaying))
	}
	pairing := h.firstPairing(c)
	switch {
	case recent:
		add(last, BetweenClutches, "she laid")
		comes = h.stops.another(max(n, 1))
	case !pairing.IsZero():
		add(pairing, PairingToClutch, "first paired")
		comes = h.stops.first()
	}
	switch {
	case !c.phase.gravid.IsZero():
		add(c.phase.gravid, GravidToLaying, "white eggs first seen")
		comes = 1
	case !c.phase.shelling.IsZero():
		add(c.phase.shelling, ShellingToLaying, "shells first seen")
		comes = 1
	}
	return uncontradicted(out), comes
}

// firstPairing is this season's first that was not refused; zero: none.
func (h *Herd) firstPairing(c *course) time.Time {
	for _, p := range c.pairings {
		if p.Outcome != incubation.Refused && h.season.Holds(p.At) {
			return p.At
		}
	}
	return time.Time{}
}

// usually says a length and what it rests on.
func (h *Herd) usually(l Learned) string {
	return fmt.Sprintf("%.0f to %.0f days from then by %s", math.Floor(l.Low), math.Ceil(l.High), l.Says)
}

// joined is what independent guesses say together.
func joined(gs []guess) guess {
	out := gs[0]
	for _, g := range gs[1:] {
		a, b := 1/(out.sd*out.sd), 1/(g.sd*g.sd)
		out.at = out.at.Add(days(dayCount(g.at.Sub(out.at)) * b / (a + b)))
		out.sd = math.Sqrt(1 / (a + b))
		out.why += "; " + g.why
	}
	return out
}
