package season

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// A course is what the book tells of one female, put together.
type course struct {
	animal   *incubation.Animal
	laid     []laying // in order
	pairings []incubation.Pairing
	phase    phase
	signs    []time.Time // when a cycle was seen to run, in order
	// fromGravid and fromShelling are days from when that was first seen to the
	// laying that ended it.
	fromGravid, fromShelling []float64
}

// A laying is one time that she laid: between the last look without eggs and
// when they were found, at the middle. clutch is "" where only a check says so.
type laying struct {
	from, at, found time.Time
	clutch          string
	eggs            int
}

// A phase is where she stands: what was seen since she last laid.
type phase struct {
	stage incubation.Stage  // Laid after a laying; "" where nothing was ever seen
	check *incubation.Check // that the stage is from; nil after a laying
	// gravid and shelling are when that was first seen, of a run that lasts.
	gravid, shelling time.Time
	// lost: white eggs were seen, later none, and no laying is in the book.
	lost *incubation.Check
}

// sameLaying is how far a check that says "laid" and a clutch may lie apart
// and tell of one laying. Judgement.
const sameLaying = 10 * 24 * time.Hour

// complete orders what was collected and finds the phase.
func (c *course) complete() {
	for _, check := range c.animal.Checks {
		if check.Stage == incubation.Laid && !c.laidAbout(check.At) {
			c.laid = append(c.laid, laying{from: check.At, at: check.At, found: check.At})
		}
	}
	slices.SortFunc(c.laid, func(a, b laying) int { return a.at.Compare(b.at) })
	c.live()
	c.signs = c.seenSigns()
}

func (c *course) laidAbout(t time.Time) bool {
	return slices.ContainsFunc(c.laid, func(l laying) bool { return l.at.Sub(t).Abs() <= sameLaying })
}

// lastLaid is when she last laid; zero: never.
func (c *course) lastLaid() time.Time {
	if len(c.laid) == 0 {
		return time.Time{}
	}
	return c.laid[len(c.laid)-1].found
}

// last is her newest check; nil: there is none.
func (c *course) last() *incubation.Check { return c.animal.Last() }

// live goes through her checks and layings in order of time: to the phase she
// is in, noting on the way how long before each laying it was seen coming.
func (c *course) live() {
	next := 0
	for i := 0; i <= len(c.animal.Checks); i++ {
		for ; next < len(c.laid) && (i == len(c.animal.Checks) || c.animal.Checks[i].At.After(c.laid[next].found)); next++ {
			c.lay(c.laid[next])
		}
		if i < len(c.animal.Checks) && c.animal.Checks[i].Stage != incubation.Laid {
			c.phase.see(&c.animal.Checks[i])
		}
	}
}

// lay ends a phase.
func (c *course) lay(l laying) {
	note := func(to *[]float64, from time.Time) {
		if d := dayCount(l.at.Sub(from)); !from.IsZero() && d >= 0 {
			*to = append(*to, d)
		}
	}
	note(&c.fromGravid, c.phase.gravid)
	note(&c.fromShelling, c.phase.shelling)
	c.phase = phase{stage: incubation.Laid}
}

// see goes on by one check. One that was not sure changes nothing but the
// list.
func (p *phase) see(check *incubation.Check) {
	switch check.Stage {
	case incubation.Unsure:
		return
	case incubation.Gravid:
		if p.gravid.IsZero() {
			p.gravid = check.At
		}
		p.lost = nil
	case incubation.Shelling:
		if p.shelling.IsZero() {
			p.shelling = check.At
		}
	default:
		if !p.gravid.IsZero() && check.Stage != incubation.Resorbed {
			p.lost = check
		}
		p.gravid, p.shelling = time.Time{}, time.Time{}
	}
	p.stage, p.check = check.Stage, check
}

// carries reports whether eggs are on their way.
func (p *phase) carries() bool {
	return p.stage == incubation.Gravid || p.stage == incubation.Shelling
}

// growing reports whether a check shows that a cycle runs.
func growing(s incubation.Stage) bool {
	return s == incubation.Follicular || s == incubation.Shelling || s == incubation.Gravid
}

// seenSigns gives the times at which a cycle was seen to run, in order.
func (c *course) seenSigns() []time.Time {
	var out []time.Time
	for _, check := range c.animal.Checks {
		if growing(check.Stage) {
			out = append(out, check.At)
		}
	}
	for _, l := range c.laid {
		out = append(out, l.at)
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

// intervals gives the days between her clutches: those of a pause are none.
func (c *course) intervals(pause float64) []float64 {
	var out []float64
	for i := 1; i < len(c.laid); i++ {
		if d := dayCount(c.laid[i].at.Sub(c.laid[i-1].at)); d <= pause {
			out = append(out, d)
		}
	}
	return out
}

// cycles gives the days from one beginning of follicles to the next where she
// neither laid nor was with a male in between.
func (c *course) cycles() []float64 {
	var out []float64
	var began time.Time
	quiet := true
	for _, check := range c.animal.Checks {
		switch {
		case check.Stage == incubation.Follicular && quiet:
			if !began.IsZero() && !c.bred(began, check.At) {
				out = append(out, dayCount(check.At.Sub(began)))
			}
			began, quiet = check.At, false
		case check.Stage == incubation.Resorbed:
			began, quiet = time.Time{}, true // a pause follows, no cycle
		case check.Stage == incubation.Quiet || check.Stage == incubation.Laid:
			quiet = true
		}
	}
	return out
}

// bred reports whether she laid or was with a male from a to b.
func (c *course) bred(a, b time.Time) bool {
	in := func(t time.Time) bool { return !t.Before(a) && t.Before(b) }
	return slices.ContainsFunc(c.laid, func(l laying) bool { return in(l.at) }) ||
		slices.ContainsFunc(c.pairings, func(p incubation.Pairing) bool {
			return p.Outcome != incubation.Refused && in(p.At)
		})
}

// pauses gives the days from each resorption to the next sign of a cycle.
func (c *course) pauses() []float64 {
	var out []float64
	for _, check := range c.animal.Checks {
		if check.Stage != incubation.Resorbed {
			continue
		}
		if i := slices.IndexFunc(c.signs, check.At.Before); i >= 0 {
			out = append(out, dayCount(c.signs[i].Sub(check.At)))
		}
	}
	return out
}

// toFirst gives, of each season in which she was with a male before she laid,
// the days from the first time to the first clutch.
func (c *course) toFirst(seasonOf func(time.Time) Season) []float64 {
	var out []float64
	for i, l := range c.laid {
		s := seasonOf(l.at)
		if i > 0 && s.Holds(c.laid[i-1].at) {
			continue
		}
		for _, p := range c.pairings {
			if p.Outcome != incubation.Refused && s.Holds(p.At) && p.At.Before(l.at) {
				out = append(out, dayCount(l.at.Sub(p.At)))
				break
			}
		}
	}
	return out
}
