package incubation_test

import (
	"math"
	"testing"
)

// Whether the intervals are honest: how often the truth lies in them, how wide
// they are, and whether the chances of a male are what hatches.
//
// In the model's own world everything must come true as often as it says. In
// the other world, which the model did not make, each condition has floors
// with the reason, so that what breaks is known and stays known.
//
// What none of this can catch is a number that truth and estimate share: in
// the model's world the days at 28 °C and the pivotal temperature are the
// profile's on both sides, so that a wrong one is covered as well as a right
// one. "60 d at 28 °C" shows what would come of it; only hatchlings can.
func TestCoverage(t *testing.T) {
	all := append(modelConditions(), otherConditions()...)
	tallies := map[string]*simTally{}
	made := make([]*simTally, len(all))
	t.Run("clutches", func(t *testing.T) {
		for i, c := range all {
			t.Run(c.name, func(t *testing.T) {
				t.Parallel()
				made[i] = c.run(t, judges(), simulated())
			})
		}
	})
	if t.Failed() {
		return
	}
	t.Logf("%d clutches of two eggs in each, %d members\n%s", simulated(), len(judges().Members),
		tableHead)
	for _, s := range made {
		tallies[s.name] = s
		t.Log(s.row())
	}
	for _, s := range made {
		s.check(t)
	}
	checkPooled(t, made[:len(modelConditions())])
	checkWidth(t, tallies["model: 28 °C"])
	checkWrongAnchor(t, tallies["other: 28 °C"], tallies["other: 60 d at 28 °C"])
}

// check holds a tally to its condition's floors. Siblings share much, so bounds
// are those of as many trials as there are clutches.
func (s *simTally) check(t *testing.T) {
	t.Helper()
	for _, x := range []struct {
		what  string
		score score
		floor float64
	}{
		{"hatch window three weeks in", s.early, s.hatch},
		{"hatch window ten days before", s.late, s.hatch},
		{"development three weeks in", s.grown, s.hatch},
		{"CTE", s.cte, s.weighted},
		{"sex interval", s.chance, s.sexes},
	} {
		if want := float64(least(s.pairs.n, x.floor)) / float64(s.pairs.n); x.score.share() < want {
			t.Errorf("%s: %s holds the truth in %.1f %%, less than the %.1f %% that chance leaves of %.0f %%",
				s.name, x.what, 100*x.score.share(), 100*want, 100*x.floor)
		}
	}
	if s.breaks != "" {
		t.Logf("what breaks in %q: %s (CTE %.0f %%, sex interval %.0f %%, males said %.2f, came %.2f)",
			s.name, s.breaks, 100*s.cte.share(), 100*s.chance.share(), s.sex.said(), s.sex.share())
	}
	if s.anyTemperature && s.pairs.n >= 20 && s.sex.brier() > s.skill*s.sex.brierBaseline() {
		t.Errorf("%s: Brier score %.3f is above %.2f of what the share of males alone gives, %.3f",
			s.name, s.sex.brier(), s.skill, s.sex.brierBaseline())
	}
	if s.calibrated > 0 {
		s.checkSexes(t)
	}
}

// checkSexes holds what was said of the sexes against what hatched, bin by bin
// and pair by pair.
func (s *simTally) checkSexes(t *testing.T) {
	t.Helper()
	for _, b := range s.sex.bins() {
		if math.Abs(b.z) > s.calibrated {
			t.Errorf("%s: of %d eggs said to be male with %.1f to %.1f, %.2f on average, %.2f were: "+
				"%.1f standard deviations", s.name, b.n, b.low, b.high, b.said, b.came, b.z)
		}
	}
	for males := range 3 {
		if z := s.pairs.z(males); math.Abs(z) > s.calibrated {
			t.Errorf("%s: %d clutches of %d males, %.1f were said: %.1f standard deviations",
				s.name, s.pairs.counts[males], males, s.pairs.said[males], z)
		}
	}
}

// checkPooled holds all of the model's own conditions together to the bounds,
// which are the closer for it; and a score must beat what is known without it.
func checkPooled(t *testing.T, own []*simTally) {
	t.Helper()
	pool := simTally{condition: condition{
		name: "model: all", hatch: nominal, weighted: nominal, sexes: nominal, calibrated: 3.5,
	}}
	for _, s := range own {
		pool.add(s)
	}
	t.Log(pool.row())
	pool.check(t)
	for _, b := range pool.sex.bins() {
		t.Logf("said %.1f to %.1f: %d eggs, said %.2f, came %.2f", b.low, min(b.high, 1), b.n, b.said,
			b.came)
	}
	if pool.sex.log() > 0.8*pool.sex.logBaseline() || pool.pairs.log() > 0.9*pool.pairs.baseline() {
		t.Errorf("log score %.3f and that of pairs %.3f are not well below the baselines %.3f and %.3f",
			pool.sex.log(), pool.pairs.log(), pool.sex.logBaseline(), pool.pairs.baseline())
	}
}

// narrowEnough is how wide a hatch window may be, on average, that is to be of
// use to a keeper at 28 °C three weeks in, days. Judgement.
const narrowEnough = 12.0

// checkWidth: a window that always holds the hatch because it is wide says
// nothing.
func checkWidth(t *testing.T, s *simTally) {
	t.Helper()
	if s.early.mean() > narrowEnough {
		t.Errorf("%s: the hatch window three weeks in is %.1f days wide on average, more than %.1f",
			s.name, s.early.mean(), narrowEnough)
	}
}

// checkWrongAnchor shows what happens to eggs that take longer than anything in
// the profile was taken from: coverage goes, and nothing in the model's own
// world tells.
func checkWrongAnchor(t *testing.T, right, wrong *simTally) {
	t.Helper()
	t.Logf("a wrong anchor: at 54 d the window holds %.0f %% of hatches three weeks in and %.0f %% ten "+
		"days before, at 60 d %.0f %% and %.0f %%; development %.0f %% and %.0f %%. "+
		"Simulation in the model's own world cannot show this",
		100*right.early.share(), 100*right.late.share(), 100*wrong.early.share(), 100*wrong.late.share(),
		100*right.grown.share(), 100*wrong.grown.share())
	if wrong.early.share() > right.early.share()-0.1 || wrong.grown.share() > 0.8 {
		t.Errorf("60 d instead of 54 breaks nothing any more: %s", wrong.row())
	}
}

// The bounds can fail: under members of which all grow alike and all eggs hatch
// alike, as if both were known, windows are short and miss most hatches.
func TestFalseConfidenceShows(t *testing.T) {
	sure := leopardsFrom(0, 60)
	for i := range sure.Members {
		m, first := &sure.Members[i], sure.Members[0]
		m.Zero, m.PerDegree, m.Bend, m.Brake = first.Zero, first.PerDegree, first.Bend, first.Brake
		m.Hatch = 1
	}
	c := modelConditions()[1]
	const n = 60
	s := c.run(t, sure, n)
	t.Logf("windows of %.1f days hold %.0f %% of hatches", s.early.mean(), 100*s.early.share())
	if bound := float64(least(n, c.hatch)) / float64(n); s.early.share() >= bound {
		t.Errorf("false confidence goes unseen: windows of %.1f days hold %.2f of hatches, bound %.2f",
			s.early.mean(), s.early.share(), bound)
	}
}
