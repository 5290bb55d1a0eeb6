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

// estimateOf waits for replays and gives an egg's estimate, nil if none.
func (r *room) estimateOf(egg string) *incubation.Estimate {
	r.Helper()
	synctest.Wait()
	for _, c := range r.Snapshot().Clutches {
		for _, e := range c.Eggs {
			if e.ID == egg {
				return e.Estimate
			}
		}
	}
	return nil
}

func TestAnEggFollowsItsRecord(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.days(10)
		e := r.estimateOf("fern-1a")
		if e == nil {
			t.Fatal("no estimate after ten days")
		}
		// At a constant 28 °C the published 52 days (Wise et al. 2009; that it
		// was 28 °C is from memory) put ten days at a fifth of development.
		if d := e.Development.Fraction; d < 0.16 || d > 0.24 {
			t.Errorf("development %.3f after ten days at 28 °C, want about 0.19", d)
		}
		if c := r.Snapshot().Clutches[0]; len(c.Males) != 3 {
			t.Errorf("chances of males %v, want for none, one and two", c.Males)
		}
	})
}

// The running fold and the fold from the history are the same, bit for bit.
func TestReplayIsTheSame(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoom(t, store, "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		for i := range 96 {
			r.hand.celsius("p", 28+incubation.Celsius(i%7)/4)
			r.live(30 * time.Minute)
		}
		// A second monitor over the same store knows only the history. It comes
		// in between two blocks, and from then on both see the same.
		time.Sleep(time.Until(time.Now().Truncate(incubation.BlockLength).Add(incubation.BlockLength)))
		again := newRoom(t, store, "p")
		again.hand.celsius("p", 28.5)
		r.hand.celsius("p", 28.5)
		for range 2 * 6 * 12 {
			r.Tick(t.Context(), r.instant())
			again.Tick(t.Context(), again.instant())
			synctest.Wait()
			time.Sleep(10 * time.Second)
		}
		running, replayed := r.estimateOf("fern-1a"), again.estimateOf("fern-1a")
		if replayed == nil || replayed.Basis.Measured != running.Basis.Measured {
			t.Fatalf("replayed %+v, running %+v", replayed, running)
		}
		if diff := cmp.Diff(running, replayed); diff != "" {
			t.Errorf("the estimate (-running +replayed):\n%s", diff)
		}
	})
}

func TestALateImportReachesTheEggs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "late")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		began := time.Now()
		r.enter(book.KindProbe, book.ProbeData{Probe: "p"}) // taken out: nothing measures the eggs
		r.enter(book.KindProbe, book.ProbeData{Probe: "late", Place: "box", Position: incubation.Substrate})
		r.days(3)
		if e := r.estimateOf("fern-1a"); e != nil && e.Basis.Measured > 0 {
			t.Fatalf("basis %+v without a reading", e.Basis)
		}
		var readings []incubation.Reading
		for at := began; at.Before(time.Now()); at = at.Add(5 * time.Minute) {
			readings = append(readings, incubation.Reading{Probe: "late", Time: at.UTC(), Has: incubation.Temperature, Celsius: 31})
		}
		if err := r.Import(t.Context(), "late", readings); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		r.live(time.Minute)
		e := r.estimateOf("fern-1a")
		if e == nil {
			t.Fatal("no estimate after the import")
		}
		// Three days at 31 °C are about 3/40 of development (derived from the
		// table of durations); at the fallback of 28 °C they would be 3/53.
		if d := e.Development.Fraction; d < 0.065 || d > 0.09 {
			t.Errorf("development %.3f after three imported days at 31 °C, want about 0.075", d)
		}
	})
}

func TestAHatchedEggKeepsItsLastEstimate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 32)
		r.live(time.Minute)
		r.incubator(32)
		r.clutch()
		r.logged(38, "p", 32)
		r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		last := r.estimateOf("fern-1a")
		if last == nil || last.TSP.State != incubation.TSPClosed {
			t.Fatalf("estimate at hatch %+v, want one with a closed TSP", last)
		}
		r.days(2)
		if diff := cmp.Diff(last, r.estimateOf("fern-1a")); diff != "" {
			t.Errorf("it changed after the hatch:\n%s", diff)
		}
		var now monitor.EggNow
		for _, e := range r.Snapshot().Clutches[0].Eggs {
			if e.ID == "fern-1a" {
				now = e
			}
		}
		if now.Box != "" || now.State != incubation.Hatched {
			t.Errorf("egg now %+v; hatched, it lies nowhere", now)
		}
	})
}
