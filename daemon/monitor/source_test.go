package monitor_test

import (
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// What a silent probe's alert names are the eggs that it speaks for.
func TestStaleTouchesItsOwnEggs(t *testing.T) {
	tests := []struct {
		name  string
		place string // of probe q; p is in the box
		alone bool   // p is gone, and the box stands in the room itself
		want  []string
	}{
		{"a room's probe touches none of the eggs in the room's boxes", "house", false, nil},
		{"an incubator's touches those in it", "inc", false, []string{"fern-1a", "fern-1b"}},
		{"a box's those in the box", "box", false, []string{"fern-1a", "fern-1b"}},
		{"an empty box's none", "spare", false, nil},
		{"eggs in a box without a probe, in the room itself, rest on the room's", "house", true, []string{"fern-1a", "fern-1b"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRoom(t, newMemory(), "p", "q")
				r.hand.celsius("p", 28)
				r.hand.celsius("q", 28)
				r.live(time.Minute)
				r.incubator(28)
				r.enter(book.KindPlace, book.PlaceData{Place: "house", Kind: incubation.Room, Name: "House"})
				r.enter(book.KindPlace, book.PlaceData{Place: "spare", Kind: incubation.Box, Name: "Spare"})
				r.enter(book.KindStand, book.StandData{Place: "inc", In: "house"})
				r.enter(book.KindStand, book.StandData{Place: "spare", In: "inc"})
				r.enter(book.KindProbe, book.ProbeData{Probe: "q", Place: tt.place})
				r.clutch()
				if tt.alone {
					r.enter(book.KindStand, book.StandData{Place: "box", In: "house"})
					r.enter(book.KindProbe, book.ProbeData{Probe: "p", Place: ""})
				}
				r.live(2 * time.Minute)
				r.hand.silent("q")
				r.live(8 * time.Minute)
				s := r.alert("stale.probe.q")
				if s == nil || !s.Told() {
					t.Fatal("the silence is not told")
				}
				if !slices.Equal(s.Eggs, tt.want) {
					t.Errorf("it names the eggs %v, want %v", s.Eggs, tt.want)
				}
			})
		})
	}
}
