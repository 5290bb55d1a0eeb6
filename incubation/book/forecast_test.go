package book_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// The egg c-1-a lies in box 1 from day 3; its plan counts from day 1.5, the
// middle of its laying. The cool cabinet with box 3 is at 27 °C throughout.
func TestPlanSteps(t *testing.T) {
	set := func(n float64, place string, c incubation.Celsius) book.Entry {
		return at(n, book.KindSetpoint, book.SetpointData{Place: place, Celsius: c})
	}
	own := func(n float64, steps ...book.PlanStep) book.Entry {
		return at(n, book.KindPlan, book.PlanData{Egg: "c-1-a", Steps: steps})
	}
	warm := func(n float64, steps ...book.PlanStep) book.Entry {
		return at(n, book.KindPlan, book.PlanData{Place: "warm", Steps: steps})
	}
	type step = book.PlanStep
	type points = []incubation.Step
	for _, row := range []struct {
		name string
		from float64
		more []book.Entry
		want points
	}{
		{"nothing is known", 10, nil, nil},
		{
			"the setpoint holds on", 10,
			[]book.Entry{set(4, "warm", 31)},
			points{{From: day(10), Celsius: 31}},
		},
		{
			"the incubator's plan follows its setpoint", 10,
			[]book.Entry{set(4, "warm", 32), warm(5, step{At: day(20), Celsius: 30},
				step{At: day(30), Celsius: 28})},
			points{
				{From: day(10), Celsius: 32},
				{From: day(20), Celsius: 30},
				{From: day(30), Celsius: 28},
			},
		},
		{
			"32 °C to the egg's day 20, then 28", 10,
			[]book.Entry{set(4, "warm", 32), own(5, step{Day: 20, Celsius: 28})},
			points{{From: day(10), Celsius: 32}, {From: day(21.5), Celsius: 28}},
		},
		{
			"the egg's plan goes before the incubator's", 25,
			[]book.Entry{
				set(4, "warm", 32), own(5, step{Day: 20, Celsius: 28}),
				warm(5, step{At: day(30), Celsius: 34}),
			},
			points{{From: day(25), Celsius: 28}},
		},
		{
			"a thermostat set after the plan's step ends it", 25,
			[]book.Entry{set(4, "warm", 32), own(5, step{Day: 20, Celsius: 28}), set(22, "warm", 28.6)},
			points{{From: day(25), Celsius: 28.6}},
		},
		{
			"a move to come takes the temperature of the other cabinet", 10,
			[]book.Entry{set(4, "warm", 32), own(5, step{Day: 20, Box: "box-3"})},
			points{{From: day(10), Celsius: 32}, {From: day(21.5), Celsius: 27}},
		},
		{
			"a move due and not entered counts", 25,
			[]book.Entry{set(4, "warm", 32), own(5, step{Day: 20, Box: "box-3"})},
			points{{From: day(25), Celsius: 27}},
		},
		{
			"a move done, and the egg moved back since", 25,
			[]book.Entry{
				set(4, "warm", 32), own(5, step{Day: 20, Box: "box-3"}),
				at(21.5, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-3"}),
				at(23, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-1"}),
			},
			points{{From: day(25), Celsius: 32}},
		},
		{
			"the box itself moved since the plan's step", 25,
			[]book.Entry{
				set(4, "warm", 32), own(5, step{Day: 20, Celsius: 28}),
				at(23, book.KindStand, book.StandData{Place: "box-1", In: "cool"}),
			},
			points{{From: day(25), Celsius: 27}},
		},
		{
			"a plan where no thermostat is known", 10,
			[]book.Entry{own(5, step{Day: 12, Celsius: 30}, step{Day: 20, Celsius: 28})},
			points{{From: day(13.5), Celsius: 30}, {From: day(21.5), Celsius: 28}},
		},
		{
			"a plan taken back", 10,
			[]book.Entry{set(4, "warm", 32), own(5, step{Day: 20, Celsius: 28}), own(6)},
			points{{From: day(10), Celsius: 32}},
		},
		{
			"a hatched egg has nothing to come", 60,
			[]book.Entry{set(4, "warm", 32), at(50, book.KindHatch, book.HatchData{Egg: "c-1-a"})},
			nil,
		},
	} {
		cool := []book.Entry{
			at(0, book.KindPlace, book.PlaceData{Place: "cool", Kind: incubation.Incubator, Name: "Cool"}),
			at(0, book.KindPlace, book.PlaceData{Place: "box-3", Kind: incubation.Box, Name: "Box 3"}),
			at(1, book.KindStand, book.StandData{Place: "box-3", In: "cool"}),
			set(1, "cool", 27),
		}
		s := folded(t, laid(append(cool, row.more...)...))
		if d := cmp.Diff(row.want, s.PlanSteps("c-1-a", day(row.from))); d != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, d)
		}
	}
	if got := folded(t, laid()).PlanSteps("c-9", day(5)); got != nil {
		t.Errorf("an egg that is not in the book: %v", got)
	}
}

func TestThermostat(t *testing.T) {
	set := at(4, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 31})
	plan := at(5, book.KindPlan, book.PlanData{Place: "warm", Steps: []book.PlanStep{
		{At: day(20), Celsius: 30}, {At: day(30), Celsius: 28},
	}})
	for _, row := range []struct {
		name, place string
		from        float64
		want        []incubation.Step
	}{
		{"a box has its incubator's, with what is planned of it", "box-1", 10, []incubation.Step{
			{From: day(10), Celsius: 31}, {From: day(20), Celsius: 30}, {From: day(30), Celsius: 28},
		}},
		{"a step that is due counts", "warm", 25, []incubation.Step{
			{From: day(25), Celsius: 30}, {From: day(30), Celsius: 28},
		}},
		{"a place that the book knows nothing of has none", "none", 10, nil},
	} {
		got := folded(t, laid(set, plan)).Thermostat(row.place, day(row.from))
		if d := cmp.Diff(row.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, d)
		}
	}
}

func TestWhen(t *testing.T) {
	s := folded(t, laid())
	if got := s.When("c-1-a", book.PlanStep{Day: 20}); !got.Equal(day(21.5)) {
		t.Errorf("day 20 is %v; it counts from the middle of the laying, day 1.5 here", got)
	}
	if got := s.When("c-1-a", book.PlanStep{At: day(7)}); !got.Equal(day(7)) {
		t.Errorf("a time is %v", got)
	}
	if got := s.When("c-9", book.PlanStep{Day: 20}); !got.IsZero() {
		t.Errorf("a day of an egg that is not there is %v", got)
	}
}
