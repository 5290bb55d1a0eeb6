package incubation_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

// An egg that was moved once spends 45 % of the TSP at 26 and 55 % at 32 °C.
// The three summaries make different things of it, and the CTE is one of the
// two: it was never between.
func TestSummaries(t *testing.T) {
	e := exact(17.5, 28, 53.5)
	m := &e.Members[0]
	cool, warm := 0.45*(m.End-m.Start)/m.Rate(26), 0.55*(m.End-m.Start)/m.Rate(32)
	opens := m.Start / m.Rate(26)
	moved := constant(26).then(opens+cool, constant(32))
	for _, row := range []struct {
		rule incubation.Summary
		want float64
	}{
		{incubation.ByMean, m.Chance(0.45*26 + 0.55*32)},
		{incubation.ByMedian, m.Chance(32)},
		{incubation.ByChance, 0.45*m.Chance(26) + 0.55*m.Chance(32)},
	} {
		m.Rule = row.rule
		// Half of the warm part is still to come.
		end := opens + cool + warm/2
		for _, at := range []float64{end, end + warm} {
			q := incubation.Question{Now: day(at), Plan: []incubation.Step{{From: day(at), Celsius: 32}}}
			got := moved.lay(t, e, math.Floor(at*144)/144).Estimate(q)
			what := fmt.Sprintf("summary %d on day %.1f", row.rule, at)
			near(t, what, got.Sex.MaleProbability, row.want, 0.01)
			near(t, what+": CTE", float64(got.CTE.Value), 32, 1e-4)
		}
	}
}

// A plan that comes true gives what it said: by every summary, before, in and
// after the TSP, also with nothing read for a while before it was asked.
func TestPlansComeTrue(t *testing.T) {
	e := incubation.Draw(exact(17.5, 28, 53.5).Profile, 3)
	plan := []incubation.Step{{From: day(18), Celsius: 32}, {From: day(22), Celsius: 29}}
	path := swinging(28).then(18, constant(32)).then(22, constant(29))
	for _, at := range []float64{18, 20, 21, 24, 40} {
		forecast := path.lay(t, e, at).Estimate(incubation.Question{
			Now: day(at).Add(25 * time.Minute), Plan: plan,
		})
		truth := path.lay(t, e, 45).Estimate(incubation.Question{Now: day(45), Plan: plan})
		what := fmt.Sprintf("asked on day %g", at)
		near(t, what+": sex", forecast.Sex.MaleProbability, truth.Sex.MaleProbability, 1e-3)
		near(t, what+": highest", forecast.Sex.High, truth.Sex.High, 1e-3)
		near(t, what+": CTE", float64(forecast.CTE.Value), float64(truth.CTE.Value), 0.01)
		near(t, what+": hatch, hours off", forecast.Hatch.Likely.Sub(truth.Hatch.Likely).Hours(), 0, 0.2)
		near(t, what+": TSP closes, hours off", forecast.TSP.Closes.Sub(truth.TSP.Closes).Hours(), 0, 0.2)
	}
}

// What is planned is less sure than what was.
func TestPlansAreUnsure(t *testing.T) {
	q := incubation.Question{Now: day(45)}
	past := constant(30).lay(t, leopards(), 45).Estimate(q)
	q = incubation.Question{Now: day(3), Plan: []incubation.Step{{From: day(3), Celsius: 30}}}
	future := constant(30).lay(t, leopards(), 3).Estimate(q)
	width := func(e incubation.Estimate) float64 { return float64(e.CTE.High - e.CTE.Low) }
	near(t, "what the plan adds to 0.14 K", width(future), 2*1.645*math.Sqrt(0.02+0.09), 0.06)
	if width(future) < 1.5*width(past) {
		t.Errorf("CTE to come is known to %.2f K, the one that was to %.2f K", width(future), width(past))
	}
	if future.Basis.Projected != 1 || past.Basis.Projected != 0 {
		t.Errorf("basis is %+v before it, %+v after it", future.Basis, past.Basis)
	}
}

// Without a plan the mean of the last day goes on, whatever the hour.
func TestLastDayGoesOn(t *testing.T) {
	e := exact(17.5, 28, 53.5)
	daily := curve(func(d float64) float64 { return 28 + 2*math.Sin(2*math.Pi*d) })
	early := constant(22).then(8, daily)
	perDay := func(c float64) float64 { return (c - 17.5) / (53.5 * 10.5) }
	for _, at := range []float64{10, 10.25, 10.5, 10.75} {
		h := early.lay(t, e, at).Estimate(incubation.Question{Now: day(at)}).Hatch
		past := 8*perDay(22) + (at-8)*perDay(28) +
			perDay(17.5+2/(2*math.Pi)*(1-math.Cos(2*math.Pi*at)))
		near(t, fmt.Sprintf("hatching day, asked on day %g", at),
			h.Likely.Sub(day0).Hours()/24, at+(1-past)/perDay(28), 0.01)
	}
	// A day in which little was read is judged by what was.
	sparse := incubation.NewTrack(e, laidAt(day0))
	constant(28).feed(t, sparse, 0, 5)
	constant(30).feed(t, sparse, 7, 7.125)
	h := sparse.Estimate(incubation.Question{Now: day(7.125)}).Hatch
	past := 5*perDay(28) + 2*perDay(29) + 0.125*perDay(30)
	near(t, "hatching day after a gap", h.Likely.Sub(day0).Hours()/24, 7.125+(1-past)/perDay(30), 0.01)
}

// Siblings under one probe share its error, and other probes err otherwise.
func TestProbesErrApart(t *testing.T) {
	chances := func(probe string) []float64 {
		track := incubation.NewTrack(leopards(), laidAt(day0))
		for b := block(day0, 30); b.Start.Before(day(35)); b.Start = b.Start.Add(incubation.BlockLength) {
			b.Probe, b.Accuracy = probe, 1
			add(t, track, b)
		}
		return track.Ask(incubation.Question{Now: day(35)}).Chances
	}
	a, again, b := chances("p1"), chances("p1"), chances("p2")
	if diff := cmp.Diff(a, again); diff != "" {
		t.Errorf("the same probe errs otherwise the second time:\n%s", diff)
	}
	same := 0
	for i := range a {
		if a[i] == b[i] {
			same++
		}
	}
	if same > len(a)/10 {
		t.Errorf("another probe gives the same chance in %d of %d members", same, len(a))
	}
}

// Silence of ten days in the TSP, 28 °C before it and 32 °C planned: the CTE
// lies on the line between, where half of the TSP's 157.3 degree-days are done,
// 76.2 of them in the gap: 10.5t + 0.2t² = 76.2 at t = 6.46 days, 30.58 °C.
func TestSilenceInTheTSP(t *testing.T) {
	track := constant(28).lay(t, exact(17.5, 28, 53.5), 12)
	e := track.Estimate(incubation.Question{
		Now: day(22), Plan: []incubation.Step{{From: day(22), Celsius: 32}},
	})
	near(t, "CTE", float64(e.CTE.Value), 30.58, 0.05)
	near(t, "share of the gap in the TSP", e.Basis.Gap, 125/157.3, 0.01)
}

// Asked about a time that the record has passed, a track answers for its end.
func TestAskedTooLate(t *testing.T) {
	track := constant(28).lay(t, leopards(), 20)
	past := track.Estimate(incubation.Question{Now: day(12)})
	if diff := cmp.Diff(track.Estimate(incubation.Question{Now: day(20)}), past); diff != "" {
		t.Errorf("estimate for a time before the end of the record (-end +before):\n%s", diff)
	}
}
