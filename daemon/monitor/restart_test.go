package monitor_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// Sensors are found seconds after a start. What stood before stands till then.
func TestAlertsOutlastTheSearchForSensors(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := watching(t, 28)
		first.hand.celsius("p", 31)
		first.live(12 * time.Minute)
		before := first.alert("too-warm.place.box")
		if before == nil {
			t.Fatal("not raised")
		}
		r := first.again() // no probe is found yet
		r.live(time.Minute)
		r.hand.probes = newHand("p").probes
		r.hand.celsius("p", 31)
		r.live(time.Minute)
		a := r.alert("too-warm.place.box")
		if a == nil || a.Occurrence != before.Occurrence {
			t.Errorf("after the start %+v, want occurrence %s to go on", a, before.Occurrence)
		}
		if said := r.post.said(); len(said) != 0 {
			t.Errorf("said %v; nothing has changed", said)
		}
	})
}

// A sensor that does not come back after a power cut is told of: the book
// says that it ought to be there.
func TestAProbeThatIsNeverFound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := watching(t, 28)
		r := first.again()
		r.live(6 * time.Minute)
		if !slices.Contains(r.post.said(), "raised stale p") {
			t.Errorf("said %v; nobody misses the probe", r.post.said())
		}
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"})
		r.live(time.Minute)
		if n := len(r.Snapshot().Probes); n != 0 {
			t.Errorf("%d probes are left after the only one was taken out for good", n)
		}
	})
}

// Ids rise from block to block, and none is given twice, by a restart either.
func TestIdsAreNeverGivenTwice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoomOf(t, store, func(o *monitor.Options) { o.IDs = 8 })
		r.live(10 * time.Second)
		var last uint64
		next := func() {
			t.Helper()
			e := r.enter(book.KindNote, book.NoteData{Text: "x"})
			if e.Seq <= last {
				t.Fatalf("id %d after %d", e.Seq, last)
			}
			last = e.Seq
		}
		for range 30 {
			next()
		}
		store.trouble(errDisk, nil)
		r.live(time.Minute)
		store.trouble(nil, nil)
		for range 10 {
			next()
		}
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if store.next <= last {
			t.Errorf("the disk holds ids up to %d, %d was given out", store.next-1, last)
		}
		r = newRoomOf(t, store, func(o *monitor.Options) { o.IDs = 8 })
		r.live(10 * time.Second)
		next()
	})
}

// An entry dated tomorrow keeps nothing waiting today.
func TestAnEntryForTomorrow(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.enter(book.KindPlace, book.PlaceData{Place: "box-2", Kind: incubation.Box, Name: "Box 2"})
		r.enterAt(time.Now().Add(r.wall+20*time.Hour), book.KindEgg, book.EggData{Egg: "fern-1a", Box: "box-2"})
		r.enterAt(time.Now().Add(r.wall+21*time.Hour), book.KindEgg, book.EggData{Egg: "fern-1a", Box: "box"})
		r.hand.celsius("p", 30)
		r.live(11 * time.Minute)
		if !slices.Contains(r.post.said(), "raised too-warm box") {
			t.Errorf("said %v; heat waits for no entry", r.post.said())
		}
	})
}

// An egg without record and setpoint is neither near its hatch nor overdue.
func TestNothingToGoByIsNoHatch(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory())
		r.live(time.Minute)
		r.enter(book.KindPlace, book.PlaceData{Place: "box", Kind: incubation.Box, Name: "Box"})
		r.clutch()
		r.live(3 * time.Hour)
		for _, said := range r.post.said() {
			if strings.Contains(said, "hatch") {
				t.Errorf("said %q of an egg that nobody knows anything of", said)
			}
		}
	})
}

// Two probes in one place that differ do not make it fall: a steady cool one
// stays a finding of off-setpoint.
func TestTwoProbesThatDifferDoNotFall(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "q")
		r.hand.celsius("p", 28)
		r.hand.celsius("q", 27.5)
		r.live(time.Minute)
		r.incubator(30)
		r.enter(book.KindProbe, book.ProbeData{Probe: "q", Place: "box"})
		r.live(4 * time.Hour)
		if slices.Contains(r.post.said(), "raised too-cool box") {
			t.Errorf("said %v; it has not become colder for hours", r.post.said())
		}
	})
}

// With many clutches each has its turn.
func TestEveryClutchIsEstimated(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		now := r.Snapshot().Time
		r.enter(book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
		const clutches = 70 // more than there are ticks between two blocks
		for i := range clutches {
			id := fmt.Sprintf("c%d", i)
			r.enter(book.KindLaying, book.LayingData{
				Clutch: id, Female: "fern", From: now, To: now,
				Eggs: []book.EggName{{Egg: id + "a", Mark: "A"}},
			})
			r.enter(book.KindEgg, book.EggData{Egg: id + "a", Box: "box"})
		}
		r.live(45 * time.Minute)
		for _, c := range r.Snapshot().Clutches {
			if c.Eggs[0].Estimate == nil {
				t.Errorf("clutch %s has waited for 45 minutes", c.ID)
			}
		}
	})
}

// An egg that hatches while its record is read gets its last estimate.
func TestAHatchDuringAReplay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := newRoom(t, newMemory(), "p")
		first.hand.celsius("p", 32)
		first.live(time.Minute)
		first.incubator(32)
		first.clutch()
		first.days(9)
		r := first.again("p")
		r.hand.celsius("p", 32)
		r.store.slow(time.Minute) // reading takes a minute of the card
		r.live(20 * time.Second)
		r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		r.live(10 * time.Minute)
		if e := r.estimateOf("fern-1a"); e == nil || e.Development.Fraction < 0.2 {
			t.Errorf("estimate %+v, want the one at the hatch", e)
		}
		if e := r.estimateOf("fern-1b"); e == nil {
			t.Error("its sibling has none")
		}
	})
}

// A laying taken back takes its eggs out of everything.
func TestALayingTakenBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.days(1)
		var laying uint64
		for _, e := range r.Entries(0) {
			if e.Kind == book.KindLaying {
				laying = e.Seq
			}
		}
		r.enter(book.KindVoid, book.VoidData{Entry: laying})
		r.live(30 * time.Minute)
		if s := r.Snapshot(); len(s.Clutches) != 0 || len(r.place("box").Eggs) != 0 {
			t.Errorf("clutches %v, eggs %v are left", s.Clutches, r.place("box").Eggs)
		}
	})
}

// Two boxes swapped between incubators, with an event time in the past: each
// egg's record goes with its box.
func TestBoxesSwappedYesterday(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "warm", "cool")
		r.hand.celsius("warm", 32)
		r.hand.celsius("cool", 26)
		r.live(time.Minute)
		for place, c := range map[string]incubation.Celsius{"warm": 32, "cool": 26} {
			r.enter(book.KindPlace, book.PlaceData{Place: "inc-" + place, Kind: incubation.Incubator, Name: place})
			r.enter(book.KindPlace, book.PlaceData{Place: "box-" + place, Kind: incubation.Box, Name: place})
			r.enter(book.KindStand, book.StandData{Place: "box-" + place, In: "inc-" + place})
			r.enter(book.KindSetpoint, book.SetpointData{Place: "inc-" + place, Celsius: c})
			r.enter(book.KindProbe, book.ProbeData{Probe: place, Place: "inc-" + place})
		}
		now := r.Snapshot().Time
		r.enter(book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
		r.enter(book.KindLaying, book.LayingData{
			Clutch: "c", Female: "fern", From: now, To: now,
			Eggs: []book.EggName{{Egg: "a", Mark: "A"}, {Egg: "b", Mark: "B"}},
		})
		r.enter(book.KindEgg, book.EggData{Egg: "a", Box: "box-warm"})
		r.enter(book.KindEgg, book.EggData{Egg: "b", Box: "box-cool"})
		r.days(2)
		before := [2]float64{r.estimateOf("a").Development.Fraction, r.estimateOf("b").Development.Fraction}
		then := time.Now().Add(-24 * time.Hour)
		r.enterAt(then, book.KindStand, book.StandData{Place: "box-warm", In: "inc-cool"})
		r.enterAt(then, book.KindStand, book.StandData{Place: "box-cool", In: "inc-warm"})
		synctest.Wait()
		r.live(time.Minute)
		a, b := r.estimateOf("a").Development.Fraction, r.estimateOf("b").Development.Fraction
		if before[0] < 1.3*before[1] {
			t.Errorf("before: warm %.4f, cool %.4f; want the warm one well ahead", before[0], before[1])
		}
		if a < b*0.97 || a > b*1.03 {
			t.Errorf("after: %.4f and %.4f; each lay one day warm and one cool", a, b)
		}
	})
}

func TestAnImportFromTheFuture(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		err := r.Import(t.Context(), "late", []incubation.Reading{
			{Probe: "late", Time: time.Now().Add(3 * time.Hour), Has: incubation.Temperature, Celsius: 28},
		})
		if err == nil {
			t.Error("took a reading that has not come: after a restart no clock would be believed")
		}
	})
}

// A published snapshot stays as it is, whatever comes.
func TestASnapshotNeverChanges(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.hand.celsius("p", 31)
		r.live(20 * time.Minute)
		kept := r.Snapshot()
		before := deep(kept)
		r.hand.celsius("p", 33)
		r.live(20 * time.Minute)
		r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		r.hand.fault("p", "unplugged")
		r.live(20 * time.Minute)
		if after := deep(kept); after != before {
			t.Errorf("it was\n%s\nand is\n%s", before, after)
		}
		if a := r.alert("too-warm.place.box"); a == nil || a.Value == nil || *a.Value != 33 {
			t.Errorf("alert %+v; want the worst value, 33, in the newest snapshot", a)
		}
	})
}
