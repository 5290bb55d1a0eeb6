package incubation_test

import (
	"testing"
	"time"

	"clutchd/incubation"
)

func TestHatchWindow(t *testing.T) {
	track := constant(28).lay(t, leopards(), 54)
	window := func(now float64, q incubation.Question) incubation.HatchSpan {
		q.Now = day(now)
		return track.Estimate(q).Hatch
	}
	free := window(54, incubation.Question{})
	if !free.Earliest.Before(day(51)) || free.Overdue {
		t.Errorf("nothing is known of the egg, and its window is %+v", free)
	}
	alive := window(54, incubation.Question{AliveAt: day(53)})
	if !alive.Earliest.After(day(53)) || !alive.Likely.After(free.Likely) || alive.Probability != 0.9 {
		t.Errorf("alive on day 53, and its window is %+v", alive)
	}
	now := window(54, incubation.Question{Unhatched: true})
	if !now.Earliest.After(day(54)) {
		t.Errorf("not hatched on day 54, and its window is %+v", now)
	}
	// Being on the book as not hatched does not make an egg alive: what counts
	// is when it was last known to be.
	booked := window(54, incubation.Question{Unhatched: true, AliveAt: day(2)})
	if booked != free {
		t.Errorf("last known alive on day 2: window %+v, want %+v", booked, free)
	}
	// Times are whole minutes.
	for _, at := range []time.Time{free.Earliest, free.Likely, free.Latest} {
		if !at.Equal(at.Truncate(time.Minute)) {
			t.Errorf("%v is no whole minute", at)
		}
	}
}

func TestOverdue(t *testing.T) {
	track := constant(28).lay(t, leopards(), 75)
	for _, row := range []struct {
		why     string
		q       incubation.Question
		overdue bool
	}{
		{"last known alive when placed", incubation.Question{Unhatched: true, AliveAt: day(1)}, true},
		{"candled alive after every member had it hatch", incubation.Question{
			Unhatched: true,
			AliveAt:   day(74),
		}, true},
		{"stated unhatched now", incubation.Question{Unhatched: true}, true},
		{"nothing stated: it hatched, as far as the record says", incubation.Question{}, false},
	} {
		row.q.Now = day(75)
		h := track.Estimate(row.q).Hatch
		if h.Overdue != row.overdue {
			t.Errorf("%s: %+v", row.why, h)
		}
		switch {
		case row.overdue && (h.Earliest.Before(day(75)) || !h.Latest.After(h.Likely) ||
			!h.Likely.After(h.Earliest) || h.Latest.After(day(95)) || h.Probability != 0):
			t.Errorf("%s: overdue window is %+v", row.why, h)
		case !row.overdue && h.Latest.After(day(75)):
			t.Errorf("%s: window is %+v", row.why, h)
		}
	}
}

// What never comes has no date.
func TestTooColdToHatch(t *testing.T) {
	track := constant(28).lay(t, leopards(), 5)
	q := incubation.Question{Now: day(5), Plan: []incubation.Step{{From: day(5), Celsius: 10}}}
	e := track.Estimate(q)
	if !e.Hatch.Likely.IsZero() || !e.TSP.Opens.IsZero() || e.TSP.State != incubation.TSPBefore {
		t.Errorf("at 10 °C for ever the hatch is expected %v, the TSP %+v", e.Hatch, e.TSP)
	}
}

// Plans are kept to: later steps from their time on, what comes before the
// first as the last day was.
func TestPlans(t *testing.T) {
	e := exact(17.5, 28, 53.5)
	track := constant(28).lay(t, e, 10)
	left := 1 - 10/53.5
	perDay := func(c float64) float64 { return (c - 17.5) / (53.5 * 10.5) }
	for _, row := range []struct {
		why  string
		plan []incubation.Step
		days float64 // from day 10 to the hatch
	}{
		{"no plan: as the last day", nil, left / perDay(28)},
		{"32 °C from now", []incubation.Step{{day(10), 32}}, left / perDay(32)},
		{"a step of the past holds", []incubation.Step{{day(3), 32}}, left / perDay(32)},
		{"32 °C from day 20", []incubation.Step{{day(20), 32}}, 10 + (left-10*perDay(28))/perDay(32)},
		{
			"32 °C to day 20, then 26",
			[]incubation.Step{{day(10), 32}, {day(20), 26}},
			10 + (left-10*perDay(32))/perDay(26),
		},
	} {
		h := track.Estimate(incubation.Question{Now: day(10), Plan: row.plan}).Hatch
		near(t, row.why, h.Likely.Sub(day(10)).Hours()/24, row.days, 0.002)
	}
	// Holding a temperature from now on is the plan of it.
	track = constant(29).lay(t, leopards(), 12)
	holds := track.Estimate(incubation.Question{Now: day(12), Holds: true}).HoldFromNow
	for _, hold := range holds {
		q := incubation.Question{Now: day(12), Plan: []incubation.Step{{day(12), hold.Celsius}}}
		plan := track.Estimate(q)
		if hold.MaleProbability != plan.Sex.MaleProbability ||
			!hold.HatchLikely.Equal(plan.Hatch.Likely) ||
			hold.Low != plan.Sex.Low || hold.High != plan.Sex.High {
			t.Errorf("holding %g °C gives %+v, planning it %+v, %v", hold.Celsius, hold, plan.Sex,
				plan.Hatch.Likely)
		}
	}
}
