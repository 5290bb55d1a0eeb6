package incubation_test

import (
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// exact is a profile of which nothing is uncertain, and an ensemble of its one
// member: growth is a straight line from zero through days at anchor.
func exact(zero, anchor, days float64) *incubation.Ensemble {
	p := species.Leopard()
	d := &p.Development
	d.Zero, d.Anchor, d.AnchorDays = just(zero), just(anchor), just(days)
	d.Bend, d.Peak, d.EggSpread = just(44), just(2), just(0)
	p.TSP.Start, p.TSP.End = just(0.22), just(0.5)
	p.Sex.Rising.Pivotal, p.Sex.Rising.Slope = just(30.31), just(0.4966)
	p.Sex.Falling.Pivotal, p.Sex.Falling.Slope = just(32.92), just(0.3856)
	p.Sex.Laboratory, p.Sex.Clutch = just(0), just(0)
	p.Record = incubation.RecordSet{}
	return incubation.Draw(p, 1)
}

func just(x float64) incubation.Number { return incubation.Number{Value: x} }

// Derived from 52 days at 28 °C and the zeros of three geckos:
// days = 52·(28 − zero)/(T − zero).
func TestDurations(t *testing.T) {
	for _, zero := range []struct {
		celsius float64
		days    map[float64]float64
	}{
		{15.5, map[float64]float64{24: 76.5, 26: 61.9, 28: 52.0, 30: 44.8, 32: 39.4, 33: 37.1}},
		{17.5, map[float64]float64{24: 84.0, 26: 64.2, 28: 52.0, 30: 43.7, 32: 37.7, 33: 35.2}},
		{19.9, map[float64]float64{24: 102.7, 26: 69.0, 28: 52.0, 30: 41.7, 32: 34.8, 33: 32.2}},
	} {
		for celsius, days := range zero.days {
			track := constant(celsius).lay(t, exact(zero.celsius, 28, 52), 3)
			h := track.Estimate(incubation.Question{Now: day(3)}).Hatch
			near(t, "hatching day", h.Likely.Sub(day0).Hours()/24, days, 0.051)
			if !h.Earliest.Equal(h.Latest) {
				t.Errorf("nothing is uncertain, and still the window is %v to %v", h.Earliest, h.Latest)
			}
		}
	}
}

func TestRate(t *testing.T) {
	for i, m := range leopards().Members {
		fastest, at := 0.0, 0.0
		for c := 0.0; c <= 60; c += 0.05 {
			r := m.Rate(c)
			switch {
			case r < 0 || c <= m.Zero && r != 0:
				t.Fatalf("member %d: rate at %.2f °C is %g", i, c, r)
			case c <= 33 && r < m.Rate(c-0.05):
				t.Fatalf("member %d: warmer is slower at %.2f °C, inside the viable range", i, c)
			case r > fastest:
				fastest, at = r, c
			}
		}
		if at < 33 || at > 37 || m.Rate(48) != 0 {
			t.Fatalf("member %d: fastest at %.2f °C, rate at 48 °C %g; nothing grows there", i, at,
				m.Rate(48))
		}
	}
}

// Warmer never hatches later inside the viable range: neither a warmer record
// nor a warmer plan.
func TestWarmerNeverHatchesLater(t *testing.T) {
	var record, plan incubation.HatchSpan
	steady := constant(27).lay(t, leopards(), 20)
	for c := 24.0; c <= 33; c += 0.5 {
		q := incubation.Question{Now: day(20)}
		track := constant(c).lay(t, leopards(), 20)
		now := track.Estimate(q).Hatch
		q.Plan = []incubation.Step{{From: day(20), Celsius: incubation.Celsius(c)}}
		planned := steady.Estimate(q).Hatch
		if c > 24 {
			earlier(t, c, now, record)
			earlier(t, c, planned, plan)
		}
		record, plan = now, planned
	}
}

func earlier(t *testing.T, celsius float64, warmer, cooler incubation.HatchSpan) {
	t.Helper()
	if warmer.Earliest.After(cooler.Earliest) || warmer.Likely.After(cooler.Likely) ||
		warmer.Latest.After(cooler.Latest) {
		t.Errorf("%g °C: hatch is expected %v, half a degree less gives %v", celsius, warmer, cooler)
	}
}
