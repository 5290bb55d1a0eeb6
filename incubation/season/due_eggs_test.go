package season_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// Each row is a book in which Saffron laid c-1 on 1 March into box 1, a day,
// and what is due then of one kind.
func TestDueOfEggsBoxesPlansAndBodies(t *testing.T) {
	window := func(from, likely, to string) season.Options {
		w := incubation.HatchSpan{Earliest: on(from), Likely: on(likely), Latest: on(to)}
		return season.Options{Hatch: map[string]incubation.HatchSpan{"c-1-a": w, "c-1-b": w}}
	}
	hatch := func(k *keeper, day string) {
		k.add(day, book.KindHatch, book.HatchData{Egg: "c-1-a"})
		k.add(day, book.KindHatch, book.HatchData{Egg: "c-1-b"})
	}
	for _, c := range []struct {
		says    string
		write   func(k *keeper)
		on      string
		o       season.Options
		kind    season.Kind
		urgency season.Urgency // "": nothing is due
		from    string
		do, why string
	}{
		{
			says: "eggs are candled from the tenth day: two of one clutch in one box together",
			on:   "2026-03-11", kind: season.Candle, urgency: season.Today, from: "2026-03-11",
			do: "Candle Saffron A and B, Box 1", why: "Laid on 1 March, 10 days ago and not candled yet.",
		},
		{says: "late after the fourteenth", on: "2026-03-16", kind: season.Candle, urgency: season.Overdue},
		{says: "from the 28th on they are left alone", on: "2026-03-29", kind: season.Candle},
		{
			says: "where the light left it open, once more a week later",
			write: func(k *keeper) {
				k.add("2026-03-12", book.KindCandle, book.CandleData{Egg: "c-1-a", Seen: "unsure"})
				k.add("2026-03-12", book.KindCandle, book.CandleData{Egg: "c-1-b", Seen: "alive"})
			},
			on: "2026-03-19", kind: season.Candle, urgency: season.Today, do: "Candle Saffron A, Box 1",
			why: "The light left it open on 12 March, 7 days ago",
		},
		{
			says: "the hatch window is told in the week before",
			on:   "2026-04-20", o: window("2026-04-24", "2026-04-27", "2026-05-02"), kind: season.Hatch,
			urgency: season.ThisWeek, from: "2026-04-24", why: "May hatch from 24 April on, most likely about 27 April.",
		},
		{
			says: "from its earliest day on it is looked at daily",
			on:   "2026-04-25", o: window("2026-04-24", "2026-04-27", "2026-05-02"), kind: season.Hatch,
			urgency: season.Today, do: "Look daily at Saffron A and B, Box 1",
		},
		{
			says: "past it nothing is overdue that a keeper could do: wait, never cut",
			on:   "2026-05-05", o: window("2026-04-24", "2026-04-27", "2026-05-02"), kind: season.Hatch,
			urgency: season.Today, why: "Past its hatch window.",
		},
		{
			says: "a pipped egg rests",
			write: func(k *keeper) {
				k.add("2026-04-26", book.KindPip, book.EggEvent{Egg: "c-1-a"})
				k.add("2026-04-26", book.KindFail, book.FailData{Egg: "c-1-b", Cause: "mould"})
			},
			on: "2026-04-26 20:00", kind: season.Hatch, urgency: season.Today, why: "never cut, never pull off yolk",
		},
		{
			says: "a new box is aired after a week, whether or not this keeper writes it down",
			on:   "2026-03-08", kind: season.Air, urgency: season.Today, from: "2026-03-08",
		},
		{says: "who never does is left alone from the second week on", on: "2026-03-16", kind: season.Air},
		{
			says: "who does is told each week: aired on 20 March, due on the 27th, late after the 30th",
			write: func(k *keeper) {
				k.add("2026-03-20", book.KindLooked, book.LookedData{Box: "box-1", Aired: true})
			},
			on: "2026-03-31", kind: season.Air, urgency: season.Overdue, from: "2026-03-27",
			why: "Last aired on 20 March, 11 days ago.",
		},
		{
			says:  "a box weighed once is weighed again after two weeks",
			write: func(k *keeper) { k.add("2026-03-10", book.KindWeighed, book.WeighedData{Box: "box-1", Grams: 412.5}) },
			on:    "2026-03-24", kind: season.WeighBox, urgency: season.Today, from: "2026-03-24",
			why: "412.5 g on 10 March, 14 days ago",
		},
		{
			says: "the move of an egg's plan on day 20",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindPlan, book.PlanData{
					Egg: "c-1-a", Steps: []book.PlanStep{{Day: 20, Box: "box-2"}},
				})
			},
			on: "2026-03-21", kind: season.PlanStep, urgency: season.Today, from: "2026-03-21",
			do: "Move Saffron A to Box 2", why: "Do not turn the egg.",
		},
		{
			says: "done, it is not asked for",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindPlan, book.PlanData{
					Egg: "c-1-a", Steps: []book.PlanStep{{Day: 20, Box: "box-2"}},
				})
				k.add("2026-03-21 08:00", book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"})
			},
			on: "2026-03-21", kind: season.PlanStep,
		},
		{
			says: "an incubator's setpoint that was to be set yesterday",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindPlan, book.PlanData{
					Place: "cabinet", Steps: []book.PlanStep{{At: on("2026-03-20"), Celsius: 31.5}},
				})
			},
			on: "2026-03-21", kind: season.PlanStep, urgency: season.Overdue, do: "Cabinet: 31.5 °C",
		},
		{
			says: "set, it is done",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindPlan, book.PlanData{
					Place: "cabinet", Steps: []book.PlanStep{{At: on("2026-03-20"), Celsius: 31.5}},
				})
				k.add("2026-03-20 13:00", book.KindSetpoint, book.SetpointData{Place: "cabinet", Celsius: 31.5})
			},
			on: "2026-03-21", kind: season.PlanStep,
		},
		{
			says:  "young are sexed from two months on: hatched on 1 May, due on 30 June",
			write: func(k *keeper) { hatch(k, "2026-05-01") },
			on:    "2026-06-30", kind: season.Sex, urgency: season.Today, from: "2026-06-30",
			do: "Sex the young of Saffron", why: "2 animals, hatched on 1 May, 60 days ago.",
		},
		{
			says: "not those that were sexed on the animal",
			write: func(k *keeper) {
				hatch(k, "2026-05-01")
				for _, e := range []string{"c-1-a", "c-1-b"} {
					k.add("2026-07-01", book.KindSexed, book.SexedData{Egg: e, Sex: "male", How: incubation.ByAnatomy})
				}
			},
			on: "2026-07-02", kind: season.Sex,
		},
		{
			says: "nor those that were sold",
			write: func(k *keeper) {
				hatch(k, "2026-05-01")
				for _, e := range []string{"a", "b"} {
					k.add("2026-05-02", book.KindAnimal, book.AnimalData{Animal: "y-" + e, Name: "y-" + e, Egg: "c-1-" + e})
					k.add("2026-06-02", book.KindRetired, book.RetiredData{Animal: "y-" + e, Why: incubation.Sold})
				}
			},
			on: "2026-07-02", kind: season.Sex,
		},
		{
			says: "a treatment is due every day until its last",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindTreated, book.TreatedData{Animal: "flint", What: "eye drops", Until: on("2026-03-06")})
			},
			on: "2026-03-06", kind: season.Treat, urgency: season.Today, do: "Flint: eye drops", why: "today is the last day",
		},
		{
			says: "and no day longer",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindTreated, book.TreatedData{Animal: "flint", What: "eye drops", Until: on("2026-03-06")})
			},
			on: "2026-03-07", kind: season.Treat,
		},
		{
			says: "given today, it is not to be given twice",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindTreated, book.TreatedData{Animal: "flint", What: "eye drops", Until: on("2026-03-06")})
				k.add("2026-03-04", book.KindTreated, book.TreatedData{Animal: "flint", What: "eye drops"})
			},
			on: "2026-03-04", kind: season.Treat,
		},
		{
			says: "the end of a quarantine is told in its week",
			write: func(k *keeper) {
				k.add("2026-03-02", book.KindQuarantine, book.QuarantineData{Animal: "flint", Until: on("2026-04-01")})
			},
			on: "2026-03-28", kind: season.Quarantine, urgency: season.ThisWeek, from: "2026-04-01",
		},
		{
			says: "a loss beyond the gate is weighed again: 60 g to 50 g is 17 %",
			write: func(k *keeper) {
				k.add("2026-02-02", book.KindWeighed, book.WeighedData{Animal: "saffron", Grams: 60})
				k.add("2026-03-10", book.KindWeighed, book.WeighedData{Animal: "saffron", Grams: 50})
			},
			on: "2026-03-12", kind: season.Weigh, urgency: season.Today,
			why: "17 % less than on 2 February: 60 g then, 50 g on 10 March, 2 days ago.",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			k.lays("2026-03-01", "saffron", "c-1")
			if c.write != nil {
				c.write(k)
			}
			items := due(k.look(c.on, c.o), c.kind, "")
			if c.urgency == "" {
				if len(items) > 0 {
					t.Fatalf("due: %+v", items)
				}
				return
			}
			if len(items) != 1 {
				t.Fatalf("%d items, want one: %+v", len(items), items)
			}
			i := items[0]
			if i.Urgency != c.urgency || c.from != "" && i.From.Format(time.DateOnly) != c.from {
				t.Errorf("%s from %s, want %s from %s", i.Urgency, i.From.Format(time.DateOnly), c.urgency, c.from)
			}
			if !strings.Contains(i.Do, c.do) || !strings.Contains(i.Why, c.why) {
				t.Errorf("says %q, %q; want %q, %q", i.Do, i.Why, c.do, c.why)
			}
		})
	}
}

// Days are the keeper's: at 23:30 UTC it is tomorrow in Berlin.
func TestDaysAreTheKeepersOwn(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip(err)
	}
	k := keeps(t)
	k.check("2026-02-20", "saffron", incubation.Follicular, incubation.Small)
	i := due(k.look("2026-02-24 23:30", season.Options{Zone: berlin}), season.Check, "saffron")
	if len(i) != 1 || i[0].Urgency != season.Today || !i[0].From.Equal(on("2026-02-24 23:00")) {
		t.Errorf("the fifth day began at 23:00 UTC: %+v", i)
	}
}
