package monitor_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// watching is a calm room with an incubator, a box and a clutch, settled.
func watching(t *testing.T, setpoint incubation.Celsius) *room {
	t.Helper()
	r := newRoom(t, newMemory(), "p")
	r.wall = 27 * 365 * 24 * time.Hour // a bubble's time begins in 2000
	r.hand.celsius("p", setpoint)
	r.live(time.Minute)
	r.incubator(setpoint)
	r.clutch()
	r.live(settleBox + time.Minute)
	return r
}

// A kernel that has not heard from a time server for a night calls its clock
// no longer set. It is no less right for that.
func TestANightWithoutATimeServer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.trusted = false
		before := r.store.count("p")
		r.live(30 * time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if s := r.Snapshot(); !s.Trusted || !s.Time.Equal(time.Now().UTC().Add(r.wall-10*time.Second)) {
			t.Errorf("trusted %v at %s, want the clock to run on to %s", s.Trusted, s.Time, time.Now().UTC().Add(r.wall))
		}
		if n := r.store.count("p") - before; n < 30*6 {
			t.Errorf("%d readings stored in half an hour, want 180: they have a time", n)
		}
		if said := r.post.said(); len(said) != 0 {
			t.Errorf("said %v", said)
		}
	})
}

// A clock that is set ahead by days moves what was timed: nothing is late by
// it, and no delay is over by it.
func TestTheClockIsSetAhead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.hand.celsius("p", 30)
		r.live(5 * time.Minute)
		r.hand.silent("p") // a battery probe between two messages
		r.wall += 3 * 24 * time.Hour
		r.live(10 * time.Second)
		if said := r.post.said(); len(said) != 0 {
			t.Fatalf("said %v at once", said)
		}
		r.hand.celsius("p", 30)
		r.live(4 * time.Minute)
		if said := r.post.said(); len(said) != 0 {
			t.Fatalf("said %v before the on-delay was over", said)
		}
		r.live(2 * time.Minute)
		if !slices.Contains(r.post.said(), "raised too-warm box") {
			t.Errorf("said %v; the ten minutes are over", r.post.said())
		}
	})
}

// A clock that was hours fast and is put right: what is read from then on
// counts again from the first block on.
func TestTheClockWasFast(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := watching(t, 28)
		r.wall += 3 * time.Hour
		r.live(time.Hour)
		r.wall -= 3 * time.Hour
		r.live(time.Minute)
		if r.Snapshot().Trusted {
			t.Fatal("a clock behind the newest reading is believed")
		}
		r.live(11 * time.Minute)
		a := r.alert("clock.system.clutchd")
		if a == nil || !strings.Contains(a.Text, "something was written down already") {
			t.Errorf("alert %+v; the keeper must be told why a set clock is not believed", a)
		}
		began := time.Now().Add(r.wall)
		offer := monitor.Change{ClockOffer: &monitor.ClockOffer{Now: began, By: "phone"}}
		if _, err := r.Do(t.Context(), offer); err != nil {
			t.Fatal(err)
		}
		r.hand.celsius("p", 33)
		r.live(4 * time.Hour)
		e := r.estimateOf("fern-1a")
		if e == nil {
			t.Fatal("no estimate")
		}
		if n := r.store.countSince("p", began); n < 4*360-12 {
			t.Errorf("%d readings stored in the four hours after, want 1440", n)
		}
		time.Sleep(10 * time.Minute)
		again := r.again("p")
		again.hand.celsius("p", 33)
		again.live(time.Minute)
		synctest.Wait()
		again.live(time.Minute)
		replayed := again.estimateOf("fern-1a")
		if d := replayed.Development.Fraction / e.Development.Fraction; !(math.Abs(d-1) < 0.04) { // it lived 11 minutes more
			t.Errorf("developed by %.4f, by its history %.4f: the running fold missed something",
				e.Development.Fraction, replayed.Development.Fraction)
		}
		if c := r.place("box").Celsius; c == nil || !r.Snapshot().Trusted {
			t.Errorf("box at %v, trusted %v", c, r.Snapshot().Trusted)
		}
	})
}

// The five minutes of an on-delay that had passed before a power cut count,
// whatever the clock did meanwhile, and no more than these.
func TestAnOnDelayOverAPowerCutAndAnUnsetClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := watching(t, 28)
		first.hand.celsius("p", 30)
		first.live(5 * time.Minute)
		if err := first.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		time.Sleep(2 * time.Hour) // no power
		r := newRoom(t, first.store, "p")
		r.boot, r.wall, r.trusted = "boot-2", -20*365*24*time.Hour, false
		r.hand.celsius("p", 30)
		r.live(2 * time.Minute)
		r.wall, r.trusted = first.wall, true
		r.live(time.Minute)
		if slices.Contains(r.post.said(), "raised too-warm box") {
			t.Fatalf("said %v after 8 minutes", r.post.said())
		}
		r.live(3 * time.Minute)
		if !slices.Contains(r.post.said(), "raised too-warm box") {
			t.Errorf("said %v after 11 minutes", r.post.said())
		}
	})
}

// Two ticks at one time, as when a small step back is waited out, teach no
// nonsense.
func TestTwoTicksAtOneTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air")
		r.hand.celsius("p", 29)
		r.hand.celsius("air", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
		r.Tick(t.Context(), r.instant())
		r.Tick(t.Context(), r.instant())
		r.days(1)
		if d := r.place("box").Offset; d == nil || !(math.Abs(*d-1) < 0.05) { // NaN is no difference
			t.Errorf("learned %v, want 1 K", d)
		}
	})
}

// A boot that was never given a time keeps its readings to itself; the next
// one gets its own.
func TestTwoBootsWithoutAClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		first := newRoom(t, store, "p")
		first.boot, first.trusted, first.wall = "boot-1", false, -20*365*24*time.Hour
		first.hand.celsius("p", 25)
		first.live(2 * time.Minute)
		if err := first.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		r := newRoom(t, store, "p")
		r.boot, r.trusted, r.wall = "boot-2", false, -20*365*24*time.Hour
		r.hand.celsius("p", 26)
		r.live(2 * time.Minute)
		r.trusted, r.wall = true, 0
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		for reading := range store.Range(t.Context(), "p", time.Time{}, time.Now().Add(time.Hour)) {
			if reading.Celsius != 26 {
				t.Errorf("%s is %.0f °C: the first boot's time is not known", reading.Time, reading.Celsius)
			}
		}
		if n := store.count("p"); n != 18 {
			t.Errorf("%d readings of three minutes, want 18", n)
		}
		if n := len(store.staged["boot-1"]); n != 12 {
			t.Errorf("%d readings of the first boot wait, want its 12", n)
		}
	})
}

// A program that is started again within a boot finds what its forerunner
// staged and gives it its time.
func TestTwoStartsInOneBoot(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := newRoom(t, newMemory(), "p")
		first.trusted, first.wall = false, -20*365*24*time.Hour
		first.hand.celsius("p", 25)
		first.live(2 * time.Minute)
		r := first.again("p")
		r.hand.celsius("p", 25)
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if n := r.store.count("p"); n != 18 {
			t.Errorf("%d readings of three minutes, want 18", n)
		}
	})
}

// A clock chip with a dead battery passes for a clock that is set. The phone
// knows better, and a time server that comes later knows best.
func TestADeadClockChip(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := watching(t, 28)
		r := first.again("p")
		r.hand.celsius("p", 28)
		r.wall -= 26 * 365 * 24 * time.Hour
		r.live(time.Minute)
		if r.Snapshot().Trusted {
			t.Fatal("a clock of the year 2000 is believed, with readings of 2026 on the disk")
		}
		phone := time.Now().Add(first.wall + 10*time.Second)
		if _, err := r.Do(t.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{Now: phone}}); err != nil {
			t.Fatal(err)
		}
		r.live(time.Hour)
		if s := r.Snapshot(); !s.Trusted || s.Time.Sub(phone).Round(time.Minute) != time.Hour {
			t.Errorf("trusted %v, now %s; want it to run on from the phone's %s", s.Trusted, s.Time, phone)
		}
		r.wall = first.wall
		r.live(time.Minute)
		if s := r.Snapshot(); !s.Trusted || s.Time.Sub(time.Now().Add(r.wall)).Abs() > 11*time.Second {
			t.Errorf("trusted %v, now %s; want the time server's %s", s.Trusted, s.Time, time.Now().Add(r.wall))
		}
	})
}
