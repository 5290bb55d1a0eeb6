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
		Pause: h.pools[AfterResorption].of(female), Opens: h.opening(female),
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

// next is the laying that is expected. What is seen of it dates it: white eggs,
// shells, the interval since the last clutch; until the first clutch of a
// season the first pairing. Those that hold at a time are taken as independent,
// so that each counts by the inverse of its variance. She had not laid when she
// was last looked at: what lies before that is cut off.
func (h *Herd) next(c *course) *Expected {
	if c.phase.stage == incubation.Resorbed || !c.animal.Here() {
		return nil
	}
	guesses, comes := h.guesses(c)
	if len(guesses) == 0 {
		return nil
	}
	g := joined(guesses)
	bound := c.phase.last // when she is known not to have laid yet
	if bound.IsZero() {
		bound = c.lastLaid()
	}
	e := &Expected{Probability: band, Comes: comes, Rests: g.why}
	z := dayCount(bound.Sub(g.at)) / g.sd
	still := 1 - phi(z) // of the layings, those that had not come then
	if !c.phase.carries() {
		e.Comes = comes * still / (comes*still + 1 - comes)
	}
	point := func(p float64) time.Time { return g.at.Add(days(g.sd * p)) }
	e.From, e.Likely, e.By = point(-z80), g.at, point(z80)
	if e.Past = h.now.After(e.By); e.Past {
		return e
	}
	if early := h.notBefore(c); early.After(bound) {
		z = min(dayCount(early.Sub(g.at))/g.sd, 5)
		still = 1 - phi(z)
	}
	if z > -4 {
		cut := func(p float64) time.Time { return point(probit(phi(z) + p*still)) }
		e.From, e.Likely, e.By = cut(0.1), cut(0.5), cut(0.9)
	}
	return e
}

// notBefore is when the next laying can come at the earliest, by a belly that
// showed no eggs on their way: from ovulation on it takes as long as the
// starting value's low end, whatever the interval says.
func (h *Herd) notBefore(c *course) time.Time {
	if check := c.phase.check; check != nil &&
		(check.Stage == incubation.Quiet || check.Stage == incubation.Follicular) {
		return check.At.Add(days(h.values[ShellingToLaying].Low))
	}
	return time.Time{}
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
	return out, comes
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
