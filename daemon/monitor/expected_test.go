package monitor_test

import (
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

// What a box may be taken to keep: its measured mean, its incubator's, its
// setpoint, each with what its shelf is known for.
func TestExpectedTemperature(t *testing.T) {
	arithmetic(t)
	for _, row := range []struct {
		name string
		do   func(r *room)
		want float64 // °C; 0: nothing to go by
	}{
		{"measured for a day, it is what was measured", func(r *room) { r.live(24 * time.Hour) }, 29.1},
		{"measured for minutes only, it is the setpoint", func(r *room) { r.live(30 * time.Minute) }, 28},
		{
			"a setpoint changed a moment ago counts, with the shelf's known difference",
			func(r *room) {
				r.live(24 * time.Hour)
				r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 31})
				r.live(time.Minute)
			},
			32.1,
		},
		{
			"once settled at it, what is measured counts again",
			func(r *room) {
				r.live(24 * time.Hour)
				r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 31})
				r.hand.celsius("p", 31.4)
				r.hand.celsius("air", 30.3)
				r.live(5 * time.Hour)
			},
			31.4,
		},
		{
			"a box whose probe fell silent follows its incubator and its shelf",
			func(r *room) {
				r.live(24 * time.Hour)
				r.hand.silent("p")
				r.hand.celsius("air", 28)
				r.live(3 * time.Hour)
			},
			29.1,
		},
		{
			"an hour of a door's chill hardly moves the mean of half a day",
			func(r *room) {
				r.live(24 * time.Hour)
				r.hand.celsius("p", 25)
				r.live(10 * time.Minute)
			},
			29.1,
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := shelf(t, 29.1)
				row.do(r)
				got := r.place("box").Expected
				if got == nil || math.Abs(float64(*got)-row.want) > 0.1 {
					t.Errorf("expected %v, want %.1f °C", got, row.want)
				}
			})
		})
	}
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory())
		r.live(time.Minute)
		r.enter(book.KindPlace, book.PlaceData{Place: "tub", Kind: incubation.Box, Name: "Tub"})
		r.live(time.Minute)
		if got := r.place("tub").Expected; got != nil {
			t.Errorf("a box on a table, unmeasured: expected %v, want nothing", *got)
		}
	})
}

// A thermostat's plan goes on from what the place is at, as far off as now.
func TestCourseFollowsTheThermostatsPlan(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := shelf(t, 29.1)
		r.live(24 * time.Hour)
		at := r.Snapshot().Time.Add(72 * time.Hour).Truncate(time.Second)
		r.enter(book.KindPlan, book.PlanData{Place: "inc", Steps: []book.PlanStep{{At: at, Celsius: 31}}})
		r.live(20 * time.Second)
		s := r.Snapshot()
		got := s.Course("box")
		want := []incubation.Step{{From: s.Time, Celsius: 29.1}, {From: at, Celsius: 32.1}}
		near := cmp.Comparer(func(a, b incubation.Celsius) bool { return math.Abs(float64(a-b)) < 0.05 })
		if d := cmp.Diff(want, got, near); d != "" {
			t.Errorf("course (-want +got):\n%s", d)
		}
		if spots := s.Spots(); len(spots) != 1 || spots[0].Place != "box" {
			t.Errorf("spots %+v, want the box and not its incubator", spots)
		}
	})
}

func TestProposeAndConsider(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := shelf(t, 29.1)
		r.clutch()
		r.enter(book.KindPlace, book.PlaceData{Place: "inc-2", Kind: incubation.Incubator, Name: "Second"})
		r.enter(book.KindPlace, book.PlaceData{Place: "warm", Kind: incubation.Box, Name: "Warm box"})
		r.enter(book.KindStand, book.StandData{Place: "warm", In: "inc-2"})
		r.enter(book.KindSetpoint, book.SetpointData{Place: "inc-2", Celsius: 31.7})
		r.live(24 * time.Hour)
		synctest.Wait()
		got, err := r.Propose("fern-1a", incubation.WantMale)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(got.List); n < 2 || got.List[0].Stays[0].Place != "warm" || got.TSP.LastChange.IsZero() {
			t.Fatalf("%d proposals, %+v, last change %v; want the warm box first", n, got.List, got.TSP.LastChange)
		}
		snap := r.Snapshot()
		plan := []book.PlanStep{{At: snap.Time.Add(48 * time.Hour).Truncate(time.Minute), Box: "warm"}, {Day: 40, Celsius: 28}}
		steps, err := snap.WhatIf("fern-1a", [][]book.PlanStep{plan})
		if err != nil {
			t.Fatal(err)
		}
		want := []incubation.Step{
			{From: snap.Time, Celsius: 29.1},
			{From: plan[0].At, Celsius: 31.7},
			{From: snap.Book.When("fern-1a", plan[1]), Celsius: 28},
		}
		near := cmp.Comparer(func(a, b incubation.Celsius) bool { return math.Abs(float64(a-b)) < 0.1 })
		if d := cmp.Diff(want, steps[0], near); d != "" {
			t.Errorf("steps of a plan (-want +got):\n%s", d)
		}
		if a, err := r.Consider("fern-1a", steps...); err != nil || len(a.Plans) != 1 || a.Plans[0].Sex.MaleProbability == 0 {
			t.Errorf("considered: %+v, %v", a.Plans, err)
		}
		if _, err := r.Propose("fern-1a", "both"); !refused(err) {
			t.Errorf("wanting both is answered with %v", err)
		}
	})
}

func refused(err error) bool {
	_, ok := errors.AsType[*monitor.Refusal](err)
	return ok
}

func TestWhatIfRefusesNonsense(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := shelf(t, 29.1)
		r.clutch()
		r.live(24 * time.Hour)
		snap := r.Snapshot()
		soon := snap.Time.Add(time.Hour)
		many := func(n int) (out []book.PlanStep) {
			for i := range n {
				out = append(out, book.PlanStep{At: soon.Add(time.Duration(i) * time.Hour), Celsius: 28})
			}
			return out
		}
		for _, row := range []struct {
			sentence, egg string
			plans         [][]book.PlanStep
		}{
			{"an egg that is not in the book", "none", [][]book.PlanStep{many(1)}},
			{"no plan at all", "fern-1a", nil},
			{"a plan of nothing", "fern-1a", [][]book.PlanStep{{}}},
			{"thirteen plans", "fern-1a", make([][]book.PlanStep, 13)},
			{"thirteen steps", "fern-1a", [][]book.PlanStep{many(13)}},
			{"colder than 10 °C", "fern-1a", [][]book.PlanStep{{{At: soon, Celsius: 9.9}}}},
			{"warmer than 45 °C", "fern-1a", [][]book.PlanStep{{{At: soon, Celsius: 45.1}}}},
			{"no number", "fern-1a", [][]book.PlanStep{{{At: soon, Celsius: incubation.Celsius(math.NaN())}}}},
			{"a day that is over", "fern-1a", [][]book.PlanStep{{{Day: 0.5, Celsius: 28}}}},
			{"a time that is over", "fern-1a", [][]book.PlanStep{{{At: snap.Time.Add(-time.Hour), Celsius: 28}}}},
			{"a box that is not there", "fern-1a", [][]book.PlanStep{{{At: soon, Box: "none"}}}},
			{"a place that is no box", "fern-1a", [][]book.PlanStep{{{At: soon, Box: "inc"}}}},
			{"both a box and a temperature", "fern-1a", [][]book.PlanStep{{{At: soon, Box: "box", Celsius: 28}}}},
			{"no time", "fern-1a", [][]book.PlanStep{{{Celsius: 28}}}},
			{"backwards", "fern-1a", [][]book.PlanStep{{{At: soon.Add(time.Hour), Celsius: 28}, {At: soon, Celsius: 30}}}},
		} {
			if steps, err := snap.WhatIf(row.egg, row.plans); !refused(err) || steps != nil {
				t.Errorf("%s: %v, %v; want a refusal", row.sentence, steps, err)
			}
		}
		if _, err := snap.WhatIf("fern-1a", [][]book.PlanStep{many(12)}); err != nil {
			t.Errorf("twelve steps: %v", err)
		}
	})
}
