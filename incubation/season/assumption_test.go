package season_test

import (
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/season"
)

// A starting value nobody measured must say so, and one with a source name it.
func TestEveryStartingValueSaysWhatItIsWorth(t *testing.T) {
	seen := map[string]bool{}
	for _, a := range season.Assumptions() {
		if seen[a.Key] {
			t.Errorf("%s is there twice", a.Key)
		}
		seen[a.Key] = true
		if a.Title == "" || a.Unit == "" || !strings.HasSuffix(a.Says, ".") {
			t.Errorf("%s: title %q, unit %q, sentence %q", a.Key, a.Title, a.Unit, a.Says)
		}
		if a.Low > a.Value || a.High < a.Value || a.Low == a.High {
			t.Errorf("%s: %g is not from %g to %g", a.Key, a.Value, a.Low, a.High)
		}
		switch a.Mark {
		case incubation.Common:
			if a.Source != "" {
				t.Errorf("%s: common practice has no source, this has %q", a.Key, a.Source)
			}
		case incubation.Judgement, incubation.FromMemory:
			if a.Source == "" {
				t.Errorf("%s: nothing says what it was judged from", a.Key)
			}
		default:
			t.Errorf("%s is marked %q", a.Key, a.Mark)
		}
	}
	for _, d := range season.Differences() {
		if d.Practice == "" || d.Paper == "" || d.Source == "" || d.About == "" {
			t.Errorf("a difference lacks a side: %+v", d)
		}
	}
}

// What the issue names, by value.
func TestTheStartingValuesThatWereAskedFor(t *testing.T) {
	for _, c := range []struct {
		key              string
		value, low, high float64
	}{
		{season.CycleUnbred, 30, 21, 42},     // about a month
		{season.BetweenClutches, 21, 14, 28}, // two to four weeks
		{season.EggsPerClutch, 2, 1, 2},      // two as a rule, a single early and late
		{season.FlushAfter, 7, 3, 14},        // within the week
		{season.SmallAgain, 5, 3, 7},         // in days
		{season.AfterResorption, 75, 30, 150},
	} {
		for _, a := range season.Assumptions() {
			if a.Key == c.key && (a.Value != c.value || a.Low != c.low || a.High != c.high || a.Mark != incubation.Common) {
				t.Errorf("%s: %+v", c.key, a)
			}
		}
	}
}
