package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A breaker trips for half a day while the eggs' own probe is silent. Where
// the incubator beside it was measured and cooled, these eggs are taken to have
// cooled too; where it kept its heat, they are not.
func TestNeighboursTellOfAnOutage(t *testing.T) {
	arithmetic(t)
	development := map[string]float64{}
	for _, row := range []struct {
		why      string
		coolest  incubation.Celsius
		neighbor bool
	}{
		{"no neighbour", 0, false},
		{"a neighbour that kept its heat", 30, true},
		{"a neighbour that cooled", 21, true},
	} {
		synctest.Test(t, func(t *testing.T) {
			r := newRoom(t, newMemory(), "p", "n")
			r.hand.celsius("p", 30)
			r.hand.celsius("n", 30)
			r.live(time.Minute)
			r.incubator(30)
			r.enter(book.KindPlace, book.PlaceData{Place: "other", Kind: incubation.Incubator, Name: "Other"})
			if row.neighbor {
				r.enter(book.KindProbe, book.ProbeData{Probe: "n", Place: "other", Position: incubation.IncubatorAir})
			}
			r.clutch()
			r.days(6)
			r.hand.silent("p")
			r.live(30 * time.Minute)
			r.hand.celsius("n", row.coolest)
			r.live(12 * time.Hour)
			r.hand.celsius("n", 30)
			r.live(time.Hour)
			r.hand.celsius("p", 30)
			r.live(time.Hour)
			synctest.Wait()
			r.live(30 * time.Minute)
			e := r.estimateOf("fern-1a")
			if e == nil {
				t.Fatalf("%s: no estimate", row.why)
			}
			development[row.why] = e.Development.Fraction
		})
	}
	without, kept, cooled := development["no neighbour"], development["a neighbour that kept its heat"], development["a neighbour that cooled"]
	if without != kept {
		t.Errorf("development is %.5f without a neighbour, %.5f with one that kept its heat", without, kept)
	}
	// Half a day at 30 °C is 1/94 of development; most of it must be missing.
	if lost := kept - cooled; lost < 0.004 || lost > 0.011 {
		t.Errorf("development is %.5f, %.5f where the neighbour cooled: %.5f less", kept, cooled, lost)
	}
}

// The probe is taken out of a box on a warm shelf. What it had shown of the
// shelf goes on counting.
func TestALearnedShelfGoesOnCounting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air")
		r.hand.celsius("p", 29.5)
		r.hand.celsius("air", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc", Position: incubation.IncubatorAir})
		r.days(2)
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"})
		r.live(time.Hour)
		r.clutch()
		r.logged(22, "air", 28)
		synctest.Wait()
		r.live(30 * time.Minute)
		e := r.estimateOf("fern-1a")
		if e == nil || e.CTE == nil {
			t.Fatalf("no CTE: %+v", e)
		}
		if c := float64(e.CTE.Value); c < 29.3 || c > 29.7 {
			t.Errorf("CTE is %.2f: the incubator's air was at 28, the shelf 1.5 K warmer", c)
		}
		if width := float64(e.CTE.High - e.CTE.Low); width > 1.5 {
			t.Errorf("CTE is known to %.2f K; without the shelf it would be 2.7", width)
		}
	})
}

// A dial that keeps more than it says goes on doing so: the future runs as the
// box has been, not as the dial says.
func TestTheFutureRunsAsTheShelfDoes(t *testing.T) {
	likely := func(dial, real incubation.Celsius) (at time.Time) {
		synctest.Test(t, func(t *testing.T) {
			r := newRoom(t, newMemory(), "p")
			r.hand.celsius("p", real)
			r.live(time.Minute)
			r.incubator(dial)
			r.clutch()
			r.days(2)
			if e := r.estimateOf("fern-1a"); e != nil {
				at = e.Hatch.Likely
			}
		})
		return at
	}
	said, off, told := likely(28, 28), likely(28, 29.5), likely(29.5, 29.5)
	if diff := off.Sub(told).Abs(); diff > 6*time.Hour || said.Sub(off) < 4*24*time.Hour {
		t.Errorf("hatch on %v at a dial of 28 that keeps 29.5, %v at one of 29.5, %v at one of 28 that keeps it",
			off, told, said)
	}
}

// The probe of a box on a warm shelf falls silent. What its shelf is known for
// counts once in the days to come: neither not at all nor twice.
func TestASilentProbesShelfCountsOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := shelf(t, 29.5)
		r.clutch()
		r.days(3)
		before := r.estimateOf("fern-1a").Hatch.Likely
		r.hand.silent("p")
		r.days(2)
		synctest.Wait()
		r.live(30 * time.Minute)
		after := r.estimateOf("fern-1a").Hatch.Likely
		if moved := after.Sub(before).Abs(); moved > 12*time.Hour {
			t.Errorf("hatch likely on %v, and on %v once the incubator is all that is measured", before, after)
		}
		box := incubation.Spot{Place: "box", Course: r.Snapshot().Course("box")}
		a, err := r.Consider("fern-1a", box.Course)
		if err != nil {
			t.Fatal(err)
		}
		if moved := a.Plans[0].Hatch.Likely.Sub(after).Abs(); moved > 12*time.Hour {
			t.Errorf("staying in the box is said to hatch on %v, the book's plan on %v", a.Plans[0].Hatch.Likely, after)
		}
	})
}

// A temperature that is planned for an egg is that, whatever its box's dial is
// off by: asked about and entered it comes to the same.
func TestAnEggsOwnTemperatureIsNoDial(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 29.5)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.days(2)
		at := r.Snapshot().Time.Add(24 * time.Hour).Truncate(time.Second)
		steps := []book.PlanStep{{At: at, Celsius: 30.5}}
		plans, err := r.Snapshot().WhatIf("fern-1a", [][]book.PlanStep{steps})
		if err != nil {
			t.Fatal(err)
		}
		asked, err := r.Consider("fern-1a", plans...)
		if err != nil {
			t.Fatal(err)
		}
		r.enter(book.KindPlan, book.PlanData{Egg: "fern-1a", Steps: steps})
		r.live(time.Minute)
		want, got := asked.Plans[0].Hatch.Likely, r.estimateOf("fern-1a").Hatch.Likely
		if got.Sub(want).Abs() > 3*time.Hour {
			t.Errorf("hatch likely on %v as entered, on %v as asked about before", got, want)
		}
	})
}

// A thermostat set anew counts at once, not when the place has come to it.
func TestASetpointCountsAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.days(2)
		before := r.estimateOf("fern-1a").Hatch.Likely
		r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 31})
		r.live(time.Minute)
		if after := r.estimateOf("fern-1a").Hatch.Likely; before.Sub(after) < 5*24*time.Hour {
			t.Errorf("hatch likely on %v at 28 °C, on %v a minute after the dial was set to 31", before, after)
		}
	})
}

// Four hours without heat are in the record; the days to come are not colder
// for them.
func TestAnHoursOutageIsNotTheFuture(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.days(4)
		before := r.estimateOf("fern-1a").Hatch.Likely
		r.hand.celsius("p", 22)
		r.live(4 * time.Hour)
		r.hand.celsius("p", 28)
		r.live(time.Hour)
		if late := r.estimateOf("fern-1a").Hatch.Likely.Sub(before); late < 0 || late > 12*time.Hour {
			t.Errorf("hatch is likely %v later", late)
		}
	})
}

// A probe that lies in a box for two days tells of its shelf for all the time
// before and after.
func TestAProbeLentTellsOfTheShelf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air")
		r.hand.celsius("p", 29.5)
		r.hand.celsius("air", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc", Position: incubation.IncubatorAir})
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"})
		r.clutch()
		r.days(10)
		before := r.estimateOf("fern-1a").Development.Fraction
		r.enter(book.KindProbe, book.ProbeData{Probe: "p", Place: "box", Position: incubation.Substrate})
		r.days(2)
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"})
		r.live(time.Hour)
		after := r.estimateOf("fern-1a").Development.Fraction
		// 12 days at 29.5 °C against 10 at 28: by the straight line 1.37 times as
		// much (derived, zero 17.5 °C); two days at 29.5 alone make it 1.22.
		if after < 1.3*before {
			t.Errorf("development %.3f on day ten, %.3f on day twelve with the shelf known", before, after)
		}
	})
}
