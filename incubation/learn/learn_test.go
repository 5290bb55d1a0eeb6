package learn_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"clutchd/incubation"
	"clutchd/incubation/learn"
	"clutchd/incubation/species"
)

var equally = cmp.Options{cmpopts.IgnoreUnexported(incubation.Profile{})}

func from(t *testing.T, base *incubation.Ensemble, c ...learn.Clutch) learn.Result {
	t.Helper()
	r, err := learn.Class{Base: base}.From(c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// mean of a number over an ensemble.
func mean(e *incubation.Ensemble, of func(incubation.Member) float64) float64 {
	sum := 0.0
	for _, m := range e.Members {
		sum += of(m)
	}
	return sum / float64(len(e.Members))
}

// daysAt is how long a member's egg takes at a temperature.
func daysAt(celsius float64) func(incubation.Member) float64 {
	return func(m incubation.Member) float64 { return 1 / m.Rate(celsius) }
}

func TestNothingToLearn(t *testing.T) {
	base := species.Ensemble(50)
	for _, none := range [][]learn.Clutch{nil, {{ID: "empty"}}, {{ID: "a", Eggs: []learn.Outcome{{Egg: "a1"}}}}} {
		r := from(t, base, none...)
		if r.Ensemble != base || r.Clutches != 0 || r.Renewed {
			t.Errorf("%v taught something: %+v", none, r)
		}
	}
}

// What is learned does not depend on the order in which it is told, and the
// ensemble that ships stays as it is.
func TestOrderDoesNotMatter(t *testing.T) {
	base, before := species.Ensemble(300), species.Ensemble(300)
	k := newKeeper(base, 3, 0.2)
	season := k.season(base, 5)
	once := from(t, base, season...)
	slices.Reverse(season)
	again := from(t, base, season...)
	if diff := cmp.Diff(once.Ensemble, again.Ensemble, equally); diff != "" {
		t.Errorf("told the other way round it is another ensemble:\n%.2000s", diff)
	}
	if diff := cmp.Diff(before.Members, base.Members); diff != "" {
		t.Errorf("learning changed the ensemble that ships:\n%.2000s", diff)
	}
	if once.Clutches != 5 || once.Hatches != 10 || once.Sexes != 10 {
		t.Errorf("5 clutches of two were counted as %+v", once)
	}
}

// One outcome at a time, and which way it leads.
func TestWhatTeachesWhat(t *testing.T) {
	base := species.Ensemble(0)
	k := newKeeper(base, 5, 0)
	plain := k.clutch(base, "c", 0, 30.3).Clutch
	edit := func(change func(*learn.Outcome)) learn.Clutch {
		c := plain
		c.Eggs = slices.Clone(c.Eggs)
		for i := range c.Eggs {
			c.Eggs[i].Sex = ""
			change(&c.Eggs[i])
		}
		return c
	}
	mixed := func(males, females int) learn.Clutch {
		c := edit(func(*learn.Outcome) {})
		c.Mixed = learn.Mixed{Of: []int{0, 1}, Males: males, Females: females, Wrong: learn.WrongByAnatomy}
		return c
	}
	days, pivotal := daysAt(30.3), func(m incubation.Member) float64 { return m.Rising.Pivotal }
	silent := edit(func(o *learn.Outcome) {})
	for _, row := range []struct {
		why        string
		a, b       learn.Clutch // b leads higher than a
		of         func(incubation.Member) float64
		least      float64
		unaffected bool
	}{
		{
			"a later hatch tells of slower eggs",
			edit(func(o *learn.Outcome) { o.By = o.By.AddDate(0, 0, -4); o.After = o.After.AddDate(0, 0, -4) }),
			edit(func(o *learn.Outcome) { o.By = o.By.AddDate(0, 0, 4); o.After = o.After.AddDate(0, 0, 4) }),
			days, 2, false,
		},
		{
			"two males tell of a lower pivotal temperature than two females",
			edit(func(o *learn.Outcome) { o.Sex = incubation.Male }),
			edit(func(o *learn.Outcome) { o.Sex = incubation.Female }),
			pivotal, 0.03, false,
		},
		{
			"so do two males of which nobody knows the egg",
			mixed(2, 0), mixed(0, 2), pivotal, 0.03, false,
		},
		{
			"seen at hatching, a sex tells less, but the same way",
			edit(func(o *learn.Outcome) { o.Sex, o.Wrong = incubation.Male, learn.WrongAtHatch }),
			edit(func(o *learn.Outcome) { o.Sex, o.Wrong = incubation.Female, learn.WrongAtHatch }),
			pivotal, 0.02, false,
		},
		{
			"one of each tells nothing of which way",
			silent, mixed(1, 1), pivotal, 0.03, true,
		},
		{
			"an egg that still lived on day 48 and then failed tells of slower eggs, one of day 20 nothing",
			edit(func(o *learn.Outcome) { o.After, o.By = day(20), time.Time{} }),
			edit(func(o *learn.Outcome) { o.After, o.By = day(48), time.Time{} }),
			days, 1, false,
		},
	} {
		a, b := from(t, base, row.a), from(t, base, row.b)
		moved := mean(b.Ensemble, row.of) - mean(a.Ensemble, row.of)
		t.Logf("%s: %+.3f, %.0f and %.0f members left", row.why, moved, a.Effective, b.Effective)
		switch {
		case row.unaffected && math.Abs(moved) > row.least:
			t.Errorf("%s: it moved by %+.3f", row.why, moved)
		case !row.unaffected && moved < row.least:
			t.Errorf("%s: it moved by %+.3f, want at least %g", row.why, moved, row.least)
		}
	}
}

// A hatch date that nobody could believe does not turn the room upside down.
func TestStrayDate(t *testing.T) {
	base := species.Ensemble(0)
	k := newKeeper(base, 6, 0)
	c := k.clutch(base, "c", 0, 28)
	for i := range c.Eggs {
		c.Eggs[i].By = c.Eggs[i].By.AddDate(0, 0, 60)
		c.Eggs[i].After = c.Eggs[i].By.AddDate(0, 0, -1)
	}
	r := from(t, base, c.Clutch)
	was, is := mean(base, daysAt(28)), mean(r.Ensemble, daysAt(28))
	if math.Abs(is-was) > 1.5 || r.Effective < 500 {
		t.Errorf("a date 60 days late moves 28 °C from %.1f to %.1f days and leaves %.0f members", was, is, r.Effective)
	}
}

// Only the latest Most clutches are learned from, in whatever order they come.
func TestOldClutchesAreLeftOut(t *testing.T) {
	base := species.Ensemble(50)
	var all []learn.Clutch
	for i := range learn.Most + 10 {
		ended := day0.Add(time.Duration(i) * 24 * time.Hour)
		track := incubation.NewTrack(base, incubation.Laying{From: ended.Add(-50 * 24 * time.Hour)})
		all = append(all, learn.Clutch{ID: fmt.Sprint(i), Eggs: []learn.Outcome{{Track: track, By: ended}}})
	}
	slices.Reverse(all)
	if r := from(t, base, all...); r.Clutches != learn.Most || r.Hatches != learn.Most {
		t.Errorf("learned from %d clutches and %d hatches, want the latest %d", r.Clutches, r.Hatches, learn.Most)
	}
}
