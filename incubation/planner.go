package incubation

import (
	"math"
	"slices"
	"time"
)

const (
	// alike is how near to each other two places are one choice, K: under what
	// a plan is kept to (plan_sd_kelvin). Judgement.
	alike = 0.2
	// mostSpots is how many places are told apart: more would make hundreds of
	// plans more, and none of another kind. Judgement.
	mostSpots = 6
)

// A planner makes plans of the places that are worth a move, the egg's own
// first.
type planner struct {
	home    bool // the first spot is where it lies
	want    Wish
	spots   []Spot
	leftOut []LeftOut
}

func newPlanner(limits LimitSet, c Choice) *planner {
	p := &planner{want: c.Want}
	for _, s := range c.Spots {
		if s.Place == c.Home && c.Home != "" {
			p.home, p.spots = true, []Spot{s}
		}
	}
	if !p.home && c.Home != "" {
		p.home, p.spots = true, []Spot{{Place: c.Home}}
	}
	for _, s := range c.Spots {
		if s.Place != c.Home && len(s.Course) > 0 {
			p.take(limits, s)
		}
	}
	for len(p.spots) > mostSpots {
		p.thin()
	}
	return p
}

// take takes a spot in, unless eggs are not known to hatch there or it is no
// other choice than one before.
func (p *planner) take(limits LimitSet, s Spot) {
	for _, w := range limits.Warn(s.Course) {
		if w == TooWarm || w == TooCold {
			p.leftOut = append(p.leftOut, LeftOut{Place: s.Place, Why: w})
			return
		}
	}
	for _, o := range p.spots {
		if o.like(s) {
			p.leftOut = append(p.leftOut, LeftOut{Place: s.Place, As: o.Place})
			return
		}
	}
	p.spots = append(p.spots, s)
}

// like reports whether two spots have about the same temperatures to come.
func (s Spot) like(o Spot) bool {
	return slices.EqualFunc(s.Course, o.Course, func(a, b Step) bool {
		return a.From.Equal(b.From) && math.Abs(float64(a.Celsius-b.Celsius)) <= alike
	})
}

// thin leaves out the spot, not the egg's own, that is nearest to another.
func (p *planner) thin() {
	out, as, nearest := 1, 0, math.Inf(1)
	for i := 1; i < len(p.spots); i++ {
		for k, o := range p.spots {
			if k == i || len(o.Course) == 0 {
				continue
			}
			by := math.Abs(float64(p.spots[i].Course[0].Celsius - o.Course[0].Celsius))
			if by < nearest {
				out, as, nearest = i, k, by
			}
		}
	}
	p.leftOut = append(p.leftOut, LeftOut{Place: p.spots[out].Place, As: p.spots[as].Place})
	p.spots = slices.Delete(p.spots, out, out+1)
}

// candidates are: staying in one place; and, where a sex is wanted, lying in
// one up to a day and in another from it on.
func (p *planner) candidates(now time.Time, days []time.Time) []Proposal {
	var out []Proposal
	for _, s := range p.spots {
		out = append(out, p.plan(Stay{Place: s.Place, From: now}))
	}
	if p.want == AnySex {
		return out
	}
	for _, s := range p.spots {
		for _, r := range p.spots {
			if r.Place == s.Place || len(r.Course) == 0 {
				continue
			}
			for _, day := range days {
				out = append(out, p.plan(
					Stay{Place: s.Place, From: now, To: day}, Stay{Place: r.Place, From: day}))
			}
		}
	}
	return out
}

// plan gives the temperatures of stays, and counts the moves.
func (p *planner) plan(stays ...Stay) Proposal {
	out := Proposal{Stays: stays, Moves: len(stays)}
	for i, stay := range stays {
		k := slices.IndexFunc(p.spots, func(s Spot) bool { return s.Place == stay.Place })
		out.Steps = append(out.Steps, During(p.spots[k].Course, stay)...)
		if i == 0 && k == 0 && p.home {
			out.Moves--
		}
	}
	return out
}

// During gives the steps of a course that hold within a stay.
func During(course []Step, stay Stay) []Step {
	var out []Step
	for i, s := range course {
		over := i+1 < len(course) && !course[i+1].From.After(stay.From)
		if over || !stay.To.IsZero() && !s.From.Before(stay.To) {
			continue
		}
		if s.From.Before(stay.From) {
			s.From = stay.From
		}
		out = append(out, s)
	}
	return out
}
