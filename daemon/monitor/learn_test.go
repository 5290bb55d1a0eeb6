package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// lesson waits for what is being learned.
func (r *room) lesson() monitor.Lesson {
	r.Helper()
	synctest.Wait()
	r.live(30 * time.Second)
	return r.Snapshot().Lesson
}

// An egg that hatched teaches the estimate of its sibling; its own last
// estimate stays what it was before anybody knew.
func TestAHatchTeaches(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 30)
		r.live(time.Minute)
		r.incubator(30)
		r.clutch()
		r.logged(41, "p", 30)
		if l := r.lesson(); l.Clutches != 0 || l.Hatches != 0 {
			t.Errorf("nothing has hatched, and it has learned %+v", l)
		}
		before := r.estimateOf("fern-1b").Hatch
		r.enter(book.KindCandle, book.CandleData{Egg: "fern-1b", Seen: "alive"})
		r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		own := r.estimateOf("fern-1a")
		l := r.lesson()
		if l.Clutches != 1 || l.Hatches != 1 || l.Sexes != 0 || len(l.Hindsight.Eggs) != 1 {
			t.Fatalf("one egg hatched, and it has learned %+v", l)
		}
		// Published and kept values put the hatch at 30 °C about day 47: one on
		// day 41 says that this room is quicker.
		after := r.estimateOf("fern-1b").Hatch
		if !after.Likely.Before(before.Likely.Add(-24 * time.Hour)) {
			t.Errorf("its sibling's hatch was likely on %v, now on %v", before.Likely, after.Likely)
		}
		if diff := cmp.Diff(own, r.estimateOf("fern-1a")); diff != "" {
			t.Errorf("what was said of it changed with what became of it:\n%s", diff)
		}

		// After a restart it is learned again from the history.
		again := r.again("p")
		again.hand.celsius("p", 30)
		again.live(2 * time.Minute)
		synctest.Wait()
		again.live(30 * time.Second)
		if diff := cmp.Diff(l, again.lesson()); diff != "" {
			t.Errorf("after a restart it has learned (-before +after):\n%s", diff)
		}
	})
}

// What counts as a sex: seen on the animal, with its egg known or not.
func TestWhatCountsAsASex(t *testing.T) {
	for _, row := range []struct {
		why   string
		sexed book.SexedData
		sexes int
	}{
		{"seen on the animal", book.SexedData{Egg: "fern-1a", Sex: incubation.Male, How: incubation.ByAnatomy}, 1},
		{"told from the temperature", book.SexedData{Egg: "fern-1a", Sex: incubation.Male, How: incubation.ByTemperature}, 0},
		{"both seen, which egg is not known", book.SexedData{Clutch: "fern-1", Males: 1, Females: 1, How: incubation.ByAnatomy}, 2},
		{"one of two seen, which is not known", book.SexedData{Clutch: "fern-1", Males: 1, How: incubation.ByAnatomy}, 1},
		{"counted from the temperature", book.SexedData{Clutch: "fern-1", Males: 2, How: incubation.ByTemperature}, 0},
	} {
		synctest.Test(t, func(t *testing.T) {
			r := newRoom(t, newMemory(), "p")
			r.hand.celsius("p", 31)
			r.live(time.Minute)
			r.incubator(31)
			r.clutch()
			r.days(2) // what is counted does not depend on the record
			r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
			r.enter(book.KindHatch, book.HatchData{Egg: "fern-1b"})
			r.live(time.Minute)
			entry := r.enter(book.KindSexed, row.sexed)
			l := r.lesson()
			if l.Sexes != row.sexes || l.Hatches != 2 {
				t.Errorf("%s: learned from %d sexes and %d hatches, want %d and 2", row.why, l.Sexes, l.Hatches, row.sexes)
			}
			r.enter(book.KindVoid, book.VoidData{Entry: entry.Seq})
			if l := r.lesson(); l.Sexes != 0 {
				t.Errorf("%s: taken back, and still %d sexes are learned from", row.why, l.Sexes)
			}
		})
	}
}

// Learning gives way to a record that is to be read, and comes to its end all
// the same, however often it is told something new.
func TestLearningGivesWay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 30)
		r.live(time.Minute)
		r.incubator(30)
		r.clutch()
		r.logged(41, "p", 30)
		r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		for range 8 {
			r.enter(book.KindCandle, book.CandleData{Egg: "fern-1b", Seen: "alive"})
			time.Sleep(time.Second)
		}
		if l := r.lesson(); l.Clutches != 1 || l.Hatches != 1 || len(l.Hindsight.Eggs) != 1 {
			t.Errorf("in the end it has learned %+v", l)
		}
	})
}

// Eggs that were moved from one box to another of the same incubator lay on
// another shelf, even if the book is told of it late.
func TestAMoveToldLateChangesTheShelf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air", "q")
		r.hand.celsius("p", 28)
		r.hand.celsius("q", 29.8)
		r.hand.celsius("air", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindPlace, book.PlaceData{Place: "top", Kind: incubation.Box, Name: "Top"})
		r.enter(book.KindStand, book.StandData{Place: "top", In: "inc"})
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc", Position: incubation.IncubatorAir})
		r.enter(book.KindProbe, book.ProbeData{Probe: "q", Place: "top", Position: incubation.Substrate})
		r.days(2)
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"})
		r.enter(book.KindProbe, book.ProbeData{Probe: "q"})
		r.live(time.Hour)
		r.clutch()
		moved := time.Now()
		r.days(10)
		before := r.estimateOf("fern-1a").Development.Fraction
		r.enterAt(moved.Add(time.Hour), book.KindEgg, book.EggData{Egg: "fern-1a", Box: "top"})
		synctest.Wait()
		r.live(time.Minute) // before the next block, which would ask for the new shelf anyway
		after := r.estimateOf("fern-1a").Development.Fraction
		// 1.8 K more over ten days are about a sixth more of development.
		if after < 1.1*before {
			t.Errorf("development is %.3f, %.3f before the book was told of the warm shelf", after, before)
		}
	})
}
