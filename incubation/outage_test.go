package incubation_test

import (
	"math"
	"testing"
	"time"

	"clutchd/incubation"
)

// cooling is 30 °C until a day, then 21 °C with a time constant of three hours
// until another, and warm again within the hour.
func cooling(from, to float64) curve {
	return func(d float64) float64 {
		c := 30.0
		if d > from {
			c = 21 + 9*math.Exp(-(min(d, to)-from)*24/3)
		}
		if d > to {
			c += (30 - c) * -math.Expm1(-(d-to)*24)
		}
		return c
	}
}

func TestCooled(t *testing.T) {
	for _, row := range []struct {
		why      string
		blocks   []incubation.Block
		told     bool
		from, to float64
	}{
		{"a breaker for six hours", series(cooling(10.1, 10.35), 10, 10.6, "n", ""), true, 10.1, 10.35},
		{"still without heat at the end", series(cooling(10.1, 12), 10, 10.6, "n", ""), true, 10.1, 10.6},
		{"a thermostat that swings", series(swinging(30), 10, 11, "n", ""), false, 0, 0},
		{"a dial turned up", series(constant(28).then(10.2, constant(32)), 10, 11, "n", ""), false, 0, 0},
		{"two blocks tell nothing", series(cooling(10, 12), 10, 10.013, "n", ""), false, 0, 0},
		{"nothing read", nil, false, 0, 0},
	} {
		o, told := incubation.Cooled(row.blocks)
		if told != row.told {
			t.Errorf("%s: told is %v, %+v", row.why, told, o)
		}
		if told && (o.From.Sub(day(row.from)).Abs() > 45*time.Minute || o.To.Sub(day(row.to)).Abs() > 20*time.Minute) {
			t.Errorf("%s: from %v to %v, want %v to %v", row.why, o.From, o.To, day(row.from), day(row.to))
		}
	}
}

// An outage that nobody read, in the middle of a gap, is made up for by what
// the neighbours tell, to within hours of what a probe would have seen.
func TestOutagesCount(t *testing.T) {
	const from, to = 15.0, 15.6
	real := cooling(from+0.1, to-0.2)
	q := incubation.Question{Now: day(30)}
	e := exact(17.5, 28, 53.5)
	e.Profile.Record.Gap, e.Profile.Record.GapMost = just(0.4), just(3)
	seen := real.lay(t, e, 30)
	blind, told := real.lay(t, e, from), real.lay(t, e, from)
	for _, track := range []*incubation.Track{blind, told} {
		real.feed(t, track, to, 30)
	}
	if gaps := told.Gaps(); len(gaps) != 1 || !gaps[0].From.Equal(day(from)) || !told.Unasked() {
		t.Fatalf("gaps are %v", gaps)
	}
	told.SetOutages([]incubation.Outage{{From: day(from + 0.1), To: day(to - 0.2), Room: 21}})
	if told.Unasked() {
		t.Error("it asks on after it was told")
	}
	hours := func(track *incubation.Track) float64 {
		return seen.Estimate(q).Hatch.Likely.Sub(track.Estimate(q).Hatch.Likely).Hours()
	}
	t.Logf("hatch foretold %.1f h too early without the neighbours, %.1f h with them", hours(blind), hours(told))
	if off := hours(blind); off < 3 {
		t.Errorf("without the neighbours the hatch is foretold %.1f h too early: nothing to make up for", off)
	}
	near(t, "hours too early with them", hours(told), 0, 2.5)
}

// A probe that comes back while it is still cold has told of the cold itself:
// the neighbours' word is not taken off a second time.
func TestAnOutageIsNotCountedTwice(t *testing.T) {
	const from, cold, warm = 15.0, 15.9, 16.0
	real := cooling(from+0.1, warm)
	q := incubation.Question{Now: day(30)}
	e := exact(17.5, 28, 53.5)
	e.Profile.Record.Gap, e.Profile.Record.GapMost = just(0.4), just(3)
	seen, told := real.lay(t, e, 30), real.lay(t, e, from)
	real.feed(t, told, cold, 30)
	told.SetOutages([]incubation.Outage{{From: day(from + 0.1), To: day(warm), Room: 21}})
	hours := seen.Estimate(q).Hatch.Likely.Sub(told.Estimate(q).Hatch.Likely).Hours()
	near(t, "hours too early", hours, 0, 1.5)
}
