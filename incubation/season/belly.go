package season

import (
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
)

// What the last look at her belly rules out of a window in which she may lay.

// skipped is from how many standard deviations on, of the interval, a belly
// without eggs says that the clutch it dates is not on its way: one in fifty is
// left. Below it a window is shown still, for a look that was mistaken costs a
// clutch. Judgement.
const skipped = 2

// notLaid is when she is known not to have laid again: the newest look that
// showed a stage, or her last laying. A look that was not sure shows nothing.
func (c *course) notLaid() time.Time {
	if c.phase.check != nil {
		return c.phase.check.At
	}
	return c.lastLaid()
}

// notBefore is when the next laying can come at the earliest, and why, in
// words; "": nothing was seen of it. With eggs on their way that is the look
// that showed them. From follicles it takes as long as the low end of the
// starting value from ovulation on, whatever the interval says.
func (h *Herd) notBefore(c *course) (early time.Time, why string) {
	check := c.phase.check
	if check == nil {
		return c.lastLaid(), ""
	}
	switch check.Stage {
	case incubation.Quiet:
		early = check.At.Add(days(h.quietToLaying()))
	case incubation.Follicular:
		early = check.At.Add(days(h.values[ShellingToLaying].Low))
	default:
		return check.At, fmt.Sprintf("she had not laid on %s", h.day(check.At))
	}
	return early, fmt.Sprintf("%s on %s, so not before %s", seen(check), h.day(check.At), h.day(early))
}

// quietToLaying is how many days lie between a quiet belly and a laying at the
// least. Derived, from two starting values: large follicles take FlushAfter to
// ovulate, and those of a quiet belly have to grow as well, for which no figure
// is at hand and none is added; then ShellingToLaying. The low end of a sum of
// two that are independent is as far below the sum of the values as the root
// of the squares of both distances: 24 - √(4²+6²) = 16.8 days.
func (h *Herd) quietToLaying() float64 {
	a, b := h.values[FlushAfter], h.values[ShellingToLaying]
	return a.Value + b.Value - math.Hypot(a.Value-a.Low, b.Value-b.Low)
}

// cutOff leaves of a window what lies after early, and says so where that
// moves it by a day or more.
func (h *Herd) cutOff(e *Expected, g guess, early time.Time, why string) {
	z := g.z(early)
	if z < -4 {
		return
	}
	was := *e
	cut := func(p float64) time.Time {
		if z > 4 { // so far out the normal tail falls like an exponential one, by z
			return g.point(z - math.Log(1-p)/z)
		}
		return g.point(probit(phi(z) + p*(1-phi(z))))
	}
	e.From, e.Likely, e.By = cut(0.1), cut(0.5), cut(0.9)
	if why != "" && (h.apart(was.From, e.From) > 0 || h.apart(was.By, e.By) > 0) {
		e.Rests += "; " + why
	}
}

// uncontradicted leaves out what a sign of the next clutch has proved wrong:
// the sign is the last of the guesses, and one whose window does not meet the
// sign's was of another cycle than the one that runs.
func uncontradicted(gs []guess) []guess {
	if len(gs) < 2 {
		return gs
	}
	sign := gs[len(gs)-1]
	var out []guess
	for _, g := range gs[:len(gs)-1] {
		if g.point(z80).After(sign.point(-z80)) && sign.point(z80).After(g.point(-z80)) {
			out = append(out, g)
		}
	}
	return append(out, sign)
}
