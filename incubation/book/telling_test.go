package book_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// At any time a telling shows the room that a fold of what had happened by
// then shows, with later corrections made.
func TestATellingIsAFoldOfWhatHadHappened(t *testing.T) {
	warm := incubation.Celsius(33)
	entries := number(append(laid(
		at(4, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 29}),
		at(5, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 99}), // a slip: 18
		at(6, book.KindLimits, book.LimitsData{Place: "warm", HighCelsius: &warm}),
		at(7, book.KindProbe, book.ProbeData{Probe: "p", Place: "box-1", Position: incubation.Substrate}),
		at(9, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"}),
		at(12, book.KindStand, book.StandData{Place: "box-1", In: ""}),
	), at(20, book.KindVoid, book.VoidData{Entry: 14}),
		// Written down last, of the first week.
		at(5.5, book.KindProbe, book.ProbeData{Probe: "q", Place: "warm", Position: incubation.IncubatorAir}))...)
	telling := book.Tell(entries)
	changes := 0
	for d := -1.0; d < 22; d += 0.5 {
		var past []book.Entry
		for _, e := range entries {
			if e.At.Before(day(d)) && e.Seq != 14 && e.Kind != book.KindVoid {
				past = append(past, e)
			}
		}
		got, changed := telling.Before(day(d))
		if changed {
			changes++
		}
		diff := cmp.Diff(book.Fold(past), got, cmpopts.EquateEmpty(),
			cmpopts.IgnoreUnexported(book.State{}),
			cmpopts.IgnoreFields(book.State{}, "Entries", "Voided", "LastSeq", "Problems", "Skipped"))
		if diff != "" {
			t.Errorf("day %v (-fold +telling):\n%s", d, diff)
		}
	}
	if changes != 10 {
		t.Errorf("the room changed %d times, not 10", changes)
	}
	if s, _ := telling.Before(day(21).Add(time.Hour)); len(s.Setpoints["warm"]) != 1 {
		t.Errorf("setpoints %v: what was taken back counts", s.Setpoints["warm"])
	}
}
