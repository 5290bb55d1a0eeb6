package learn

import (
	"fmt"
	"math"

	"clutchd/incubation"
	"clutchd/incubation/sampler"
)

// How long the chains run that draw members anew, for each summary.
const (
	renewChains = 2
	renewBurn   = 300
	renewThin   = 6
)

// renewed draws members anew from what the ensemble that ships says beforehand
// and what the outcomes say: by summary, since nothing lies between two of
// them, each as often as the weights leave it.
func (c *lecture) renewed(weights []float64) (*incubation.Ensemble, error) {
	rules := byRule(c.Base.Members)
	var out []incubation.Guess
	for k, count := range portions(c.ruleShares(rules, weights), len(c.Base.Members)) {
		if count == 0 {
			continue
		}
		drawn, err := c.draw(rules[k], weights, count)
		if err != nil {
			return nil, fmt.Errorf("draw members anew: %w", err)
		}
		out = append(out, drawn...)
	}
	return c.assembled(out), nil
}

// byRule gives the numbers of the members by their summary.
func byRule(members []incubation.Member) [][]int {
	var out [][]int
	for i := range members {
		for int(members[i].Rule) >= len(out) {
			out = append(out, nil)
		}
		out[members[i].Rule] = append(out[members[i].Rule], i)
	}
	return out
}

// ruleShares are what the outcomes leave each summary. The weights of few
// members are a poor measure of that, so each keeps one member's worth.
func (c *lecture) ruleShares(rules [][]int, weights []float64) []float64 {
	effective := Effective(weights)
	out := make([]float64, len(rules))
	for k, members := range rules {
		if len(members) < 2 {
			continue
		}
		sum := 0.0
		for _, i := range members {
			sum += weights[i]
		}
		out[k] = sum*effective + 1
	}
	return out
}

// portions shares n out, by the largest remainder.
func portions(shares []float64, n int) []int {
	total := 0.0
	for _, s := range shares {
		total += s
	}
	out, done, sum := make([]int, len(shares)), 0, 0.0
	for k, s := range shares {
		sum += s
		out[k] = int(math.Round(sum/total*float64(n))) - done
		done += out[k]
	}
	return out
}

// draw samples members of one summary.
func (c *lecture) draw(of []int, weights []float64, count int) ([]incubation.Guess, error) {
	s, err := newSpace(c, of)
	if err != nil {
		return nil, err
	}
	best := of[0]
	for _, i := range of {
		if weights[i] > weights[best] {
			best = i
		}
	}
	keep := (count + renewChains - 1) / renewChains
	result, err := sampler.Run(s.target, sampler.Options{
		Start: s.point(c.Base.Guess(best, c.errors)), Scale: s.scale,
		Chains: renewChains, Burn: renewBurn, Keep: keep, Thin: renewThin, Seed: uint64(s.rule),
	})
	if err != nil {
		return nil, err
	}
	var out []incubation.Guess
	for _, point := range result.All()[:count] {
		g, ok := s.guess(point)
		if !ok {
			return nil, fmt.Errorf("summary %d: the chains left what is possible", s.rule)
		}
		out = append(out, g)
	}
	return out, nil
}

// A space is the members of one summary as points: their numbers as far as
// they differ, where the eggs lie against the probes, and the probes' errors.
type space struct {
	class *lecture
	rule  incubation.Summary
	like  incubation.Member // for what does not differ
	axes  []axis
	prior sampler.Target
	scale []float64
}

func newSpace(c *lecture, of []int) (*space, error) {
	s := &space{class: c, like: c.Base.Members[of[0]]}
	s.rule = s.like.Rule
	rows := make([][]float64, len(of))
	for _, a := range axes() {
		if low, high := extent(c.Base.Members, of, a); !(high > low) || math.IsInf(low, 0) {
			continue
		}
		s.axes = append(s.axes, a)
		for k, i := range of {
			rows[k] = append(rows[k], a.of(&c.Base.Members[i]))
		}
	}
	prior, sds, err := sampler.Normal(rows)
	if err != nil {
		return nil, err
	}
	s.prior = prior
	for _, sd := range sds {
		s.scale = append(s.scale, sd/3)
	}
	for range 1 + len(c.probes) {
		s.scale = append(s.scale, 0.3)
	}
	return s, nil
}

func extent(members []incubation.Member, of []int, a axis) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, i := range of {
		x := a.of(&members[i])
		low, high = min(low, x), max(high, x)
	}
	return low, high
}

// point is a guess as a point of the space.
func (s *space) point(g incubation.Guess) []float64 {
	var out []float64
	for _, a := range s.axes {
		out = append(out, a.of(&g.Member))
	}
	out = append(out, g.Member.Position)
	for _, id := range s.class.probes {
		out = append(out, g.Probes[id])
	}
	return out
}

// guess is a point as a guess; false: it is none.
func (s *space) guess(point []float64) (incubation.Guess, bool) {
	g := incubation.Guess{Member: s.like, Probes: map[string]float64{}}
	for k, a := range s.axes {
		a.set(&g.Member, point[k])
	}
	n := len(s.axes)
	g.Member.Position = point[n]
	for k, id := range s.class.probes {
		g.Probes[id] = point[n+1+k]
	}
	m := &g.Member
	return g, m.Start > 0 && m.End > m.Start && m.End < 0.95 && m.Zero < m.Bend
}

// target is the logarithm of the density: as much as the ensemble that ships
// gives the point, times what the outcomes say.
func (s *space) target(point []float64) float64 {
	g, ok := s.guess(point)
	if !ok || s.class.stopped() {
		return math.Inf(-1)
	}
	n := len(s.axes)
	sum := s.prior(point[:n])
	for _, z := range point[n:] {
		sum -= z * z / 2
	}
	for k := range s.class.lessons {
		sum += s.class.lessons[k].told(&g)
	}
	return sum
}
