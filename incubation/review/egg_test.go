package review_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
	"clutchd/incubation/species"
)

// said is an estimate with a window and a chance of a male; nothing here is a
// claim about geckos.
func said(earliest, likely, latest time.Time, male float64) *incubation.Estimate {
	return &incubation.Estimate{
		Sex:   incubation.Sex{MaleProbability: male, Low: male - 0.1, High: male + 0.1},
		Hatch: incubation.HatchSpan{Earliest: earliest, Likely: likely, Latest: latest, Probability: 0.9},
	}
}

// The room's days begin at 23:00 UTC (CET) and from the last Sunday of March
// on at 22:00.
func TestDaysOff(t *testing.T) {
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 5, day, hour, minute, 0, 0, time.UTC) }
	for _, row := range []struct {
		why      string
		likely   time.Time
		found    time.Time
		late     float64
		calendar int
		inside   bool
	}{
		{"found at the very time", at(10, 12, 0), at(10, 12, 0), 0, 0, true},
		{"two days and six hours later", at(10, 12, 0), at(12, 18, 0), 2.25, 2, true},
		{"three hours later, and past midnight in the room's zone", at(10, 20, 0), at(10, 23, 0), 0.125, 1, true},
		{"23:30 UTC is the next day there already", at(10, 12, 0), at(10, 23, 30), 11.5 / 24, 1, true},
		{"a day before", at(10, 12, 0), at(9, 12, 0), -1, -1, true},
		{"on the window's last day, after its hour: a hatch is found when somebody looks", at(10, 12, 0), at(14, 20, 0), 4 + 8.0/24, 4, true},
		{"a day after the window", at(10, 12, 0), at(15, 8, 0), 4 + 20.0/24, 5, false},
		{"a day before the window", at(10, 12, 0), at(5, 8, 0), -(5 + 4.0/24), -5, false},
	} {
		d := begun(t)
		d.write(row.found, book.KindHatch, book.HatchData{Egg: "c-1-a", Sex: "female", Grams: 3.1})
		r := of(t, d, 24*100, nil, func(a *review.Asked) {
			a.Readings = nil
			a.Estimate = func(egg string) *incubation.Estimate {
				return said(row.likely.AddDate(0, 0, -4), row.likely, row.likely.AddDate(0, 0, 4), 0.2)
			}
		})
		got := r.Eggs[0].Against
		if got == nil {
			t.Fatalf("%s: nothing is held against the hatch", row.why)
		}
		if math.Abs(got.LateDays-row.late) > 0.001 || got.CalendarDays != row.calendar || got.Inside != row.inside {
			t.Errorf("%s: %g days, %d midnights, inside %v; want %g, %d, %v", row.why, got.LateDays,
				got.CalendarDays, got.Inside, row.late, row.calendar, row.inside)
		}
		if got.Sex != "female" || got.How != incubation.AtHatch || math.Abs(got.Expected-0.8) > 1e-9 {
			t.Errorf("%s: of the female that came 0.8 was said, not %g (%s, %s)", row.why, got.Expected, got.Sex, got.How)
		}
		if r.Eggs[1].Against != nil {
			t.Errorf("%s: egg B has not hatched and is held against something", row.why)
		}
	}
}

// What was written down of egg, hatchling and box stands where it belongs.
func TestWhatWasWrittenDown(t *testing.T) {
	d := begun(t)
	d.write(on(100), book.KindCandle, book.CandleData{Egg: "c-1-a", Seen: "alive", Shows: incubation.Veins})
	d.write(on(101), book.KindLooked, book.LookedData{Egg: "c-1-b", Dents: incubation.SlightDents, Mould: true})
	d.write(on(101), book.KindLooked, book.LookedData{Box: "box-1", Wet: true, Aired: true})
	d.write(on(102), book.KindWeighed, book.WeighedData{Box: "box-1", Grams: 412})
	d.write(on(102), book.KindWeighed, book.WeighedData{Egg: "c-1-a", Grams: 4.2})
	d.write(on(103), book.KindWeighed, book.WeighedData{Box: "box-2", Grams: 500}) // theirs is another
	d.write(on(1200), book.KindHatch, book.HatchData{Egg: "c-1-a", Grams: 3})
	d.write(on(1224), book.KindMilestone, book.MilestoneData{Egg: "c-1-a", What: incubation.FirstShed})
	d.write(on(1300), book.KindWeighed, book.WeighedData{Egg: "c-1-a", Grams: 3.3})
	d.write(on(800), book.KindFail, book.FailData{Egg: "c-1-b", Cause: "mould"})
	r := of(t, d, 1400, nil)
	a, b := r.Egg("A"), r.Egg("B")
	if len(r.Records) != 1 {
		t.Fatalf("eggs that lay together until one was lost have %d records", len(r.Records))
	}
	for _, row := range []struct {
		why       string
		got, want any
	}{
		{"what the light showed", a.Candlings, []review.Candling{{on(100), "alive", "veins"}}},
		{"the egg's own weight", a.Weights, []review.Weight{{on(102), 4.2}}},
		{"the hatchling's, that of the day it hatched first", a.Young, []review.Weight{{on(1200), 3}, {on(1300), 3.3}}},
		{"its first shed, a day old", a.Milestones, []review.Milestone{{on(1224), "shed", 1}}},
		{"dents of the other", b.Looks, []review.Look{{Time: on(101), Dents: "slight", Mould: true}}},
		{"why it was lost", b.Cause, "mould"},
		{"days from the middle of the laying, half a day before the find, to the hatch", a.Days, 50.5},
		{"the box's weight", r.Records[0].BoxWeights, []review.BoxWeight{{"box-1", review.Weight{on(102), 412}}}},
		{"the box was wet", r.Records[0].BoxLooks, []review.BoxLook{{"box-1", review.Look{Time: on(101), Wet: true, Aired: true}}}},
		{"none lives", r.Over, true},
		{"day 0 by the calendar", r.Laid.Day, "2026-03-01"},
	} {
		if diff := cmp.Diff(row.want, row.got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.why, diff)
		}
	}
}

// Possible sires are the males of the year before that she did not refuse.
func TestSires(t *testing.T) {
	d := begun(t)
	male := func(id, name string) {
		d.write(on(-20000), book.KindAnimal, book.AnimalData{Animal: id, Name: name, Sex: "male", Hatched: "2023"})
	}
	male("m-1", "Basil")
	male("m-2", "Sorrel")
	male("m-3", "Dill")
	d.write(on(-20000), book.KindFemale, book.FemaleData{Female: "f-1", Name: "Saffron"})
	pair := func(hours float64, male string, o incubation.Reception) {
		d.write(on(hours), book.KindPaired, book.PairedData{Female: "f-1", Male: male, Outcome: o})
	}
	pair(-24*400, "m-3", incubation.Accepted) // too long ago
	pair(-24*90, "m-1", incubation.Accepted)
	pair(-24*60, "m-2", incubation.Refused)
	pair(-24*30, "m-1", incubation.Unseen)
	pair(-24*20, "m-2", incubation.Accepted)
	pair(24*3, "m-3", incubation.Accepted) // after the laying
	r := of(t, d, 100, nil)
	type row struct {
		name  string
		times int
		days  float64
		how   incubation.Reception
	}
	var got []row
	for _, s := range r.Sires {
		got = append(got, row{s.Name, s.Times, s.DaysBefore, s.Outcome})
	}
	want := []row{{"Sorrel", 1, 19.5, incubation.Accepted}, {"Basil", 2, 29.5, incubation.Unseen}}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(row{})); diff != "" {
		t.Errorf("possible sires (-want +got):\n%s", diff)
	}
	if text := strings.Join(r.Said, " "); !strings.Contains(text, "which of them is the father is not known") {
		t.Errorf("that the father is not known is not said: %s", text)
	}
}

// The course says at each week what a record up to then says, and ends in the
// estimate; the plan of each time is the one in force then.
func TestCourse(t *testing.T) {
	d := begun(t)
	d.write(on(24*9), book.KindPlan, book.PlanData{Egg: "c-1-a", Steps: []book.PlanStep{{Day: 20, Celsius: 28}}})
	d.write(on(24*50), book.KindHatch, book.HatchData{Egg: "c-1-a"})
	b := d.fold()
	e := species.Ensemble(60)
	track := incubation.NewTrack(e, b.Clutches["c-1"].Laid)
	for at := on(2); at.Before(on(24 * 50)); at = at.Add(incubation.BlockLength) {
		if err := track.Add(incubation.Block{
			Start: at, Celsius: 31, Covered: 1, Probe: "in-box", Position: incubation.Substrate, Accuracy: 0.2,
		}); err != nil {
			t.Fatal(err)
		}
	}
	r := of(t, d, 24*60, nil, func(a *review.Asked) {
		a.Readings, a.Course = nil, true
		a.Track = func(egg string) *incubation.Track {
			if egg != "c-1-a" {
				return nil
			}
			return track
		}
	})
	got := r.Eggs[0]
	if len(got.Course) != 7 {
		t.Fatalf("50 days give %d forecasts, want one on days 7 to 42 and one at the end, which day 49 is too near", len(got.Course))
	}
	end := track.Estimate(incubation.Question{Now: on(24 * 50)})
	if diff := cmp.Diff(end, *got.Estimate); diff != "" {
		t.Errorf("the estimate at the end is not the record's (-record +review):\n%s", diff)
	}
	first, second, last := got.Course[0], got.Course[1], got.Course[6]
	if first.Day != 7 || first.Basis.Measured >= second.Basis.Measured || last.Male != end.Sex.MaleProbability {
		t.Errorf("the course does not go from less to all: %+v … %+v", first, last)
	}
	// On day 7 the setpoint of 31 °C was to go on, on day 14 the plan said 28 °C
	// from day 20 on: cooler, so later, and less likely a male.
	if !second.Hatch.Likely.After(first.Hatch.Likely) || second.Male >= first.Male {
		t.Errorf("the plan made on day 9 does not show: %v, %.2f; then %v, %.2f", first.Hatch.Likely, first.Male,
			second.Hatch.Likely, second.Male)
	}
	if got.TSP == nil || !got.TSP.Opens.Low.Before(got.TSP.Opens.Likely) || !got.TSP.Closes.Likely.Equal(end.TSP.Closes.Truncate(time.Minute)) &&
		got.TSP.Closes.Likely.Sub(end.TSP.Closes).Abs() > 2*time.Minute {
		t.Errorf("the TSP's span %+v does not fit the estimate's %+v", got.TSP, end.TSP)
	}
	if len(got.Doubts) == 0 {
		t.Error("nothing is said to have made the estimate less sure")
	}
	for _, d := range got.Doubts {
		if d.Points < 0 || d.Days < 0 {
			t.Errorf("a doubt widens what it is taken from: %+v", d)
		}
	}
}

// What goes out as JSON comes back the same: a report is made elsewhere from
// it.
func TestJSONComesBack(t *testing.T) {
	d := begun(t)
	d.write(on(30), book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-2"})
	d.write(on(1200), book.KindHatch, book.HatchData{Egg: "c-1-a", Sex: "male"})
	r := of(t, d, 1300, map[string]trace{"in-box": steady(31).but(30, 25, 33).silent(60, 200), "in-air": steady(30)},
		func(a *review.Asked) {
			a.Series = true
			a.Estimate = func(string) *incubation.Estimate { return said(on(1100), on(1150), on(1250), 0.7) }
		})
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(text), "null") {
		t.Errorf("a list or a value is null in %s", text)
	}
	var back review.Review
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(r, back); diff != "" {
		t.Errorf("what came back (-out +back):\n%s", diff)
	}
}

// A clutch that is not in the book is an error, one without eggs in a box is a
// review without a record.
func TestLittleIsKnown(t *testing.T) {
	d := begun(t)
	if _, err := review.Of(review.Asked{Book: d.fold(), Clutch: "c-9", Now: on(1)}); err == nil {
		t.Error("a clutch that is not in the book has a review")
	}
	r := of(t, d, 0.5, nil)
	if len(r.Records) != 1 || r.Records[0].Readings != 0 || r.Over {
		t.Errorf("eggs just found: %+v", r.Records)
	}
	if !strings.Contains(strings.Join(r.Said, " "), "No reading speaks for this time.") {
		t.Errorf("that nothing was read is not said: %q", r.Said)
	}
}
