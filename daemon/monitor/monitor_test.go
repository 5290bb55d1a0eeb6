package monitor_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

// settleBox is how long a box rests after eggs were put into it.
const settleBox = 2 * time.Hour

func TestTooWarmIsToldAfterItsDelayAndNoEarlier(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.live(settleBox + time.Minute)
		if said := r.post.said(); len(said) != 0 {
			t.Fatalf("a calm box said %v", said)
		}

		r.hand.celsius("p", 30.4)
		r.live(10 * time.Minute) // ticks at 0 s … 9 min 50 s
		if said := r.post.said(); len(said) != 0 {
			t.Fatalf("within the on-delay it said %v", said)
		}
		r.live(10 * time.Second)
		want := []string{"raised too-warm box"}
		if diff := cmp.Diff(want, r.post.said()); diff != "" {
			t.Fatalf("at the end of the on-delay (-want +got):\n%s", diff)
		}
		n := r.post.got[0]
		if n.Severity != alerts.Critical || !slices.Equal(n.Eggs, []string{"fern-1a", "fern-1b"}) {
			t.Errorf("severity %s, eggs %v; eggs are at stake: critical, both", n.Severity, n.Eggs)
		}
		if !strings.Contains(n.Text, "Fern A") || !strings.Contains(n.Text, "30.4") {
			t.Errorf("text %q names neither the egg nor the value", n.Text)
		}

		r.hand.celsius("p", 28)
		r.live(5*time.Minute + 10*time.Second)
		want = append(want, "cleared too-warm box")
		if diff := cmp.Diff(want, r.post.said()); diff != "" {
			t.Errorf("once it was back (-want +got):\n%s", diff)
		}
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := r.store.states["too-warm.place.box"].Phase; got != alerts.Cleared {
			t.Errorf("stored phase %q, want cleared until someone acknowledges", got)
		}
	})
}

func TestAFaultIsNoNumberAndHoldsTheState(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.hand.fault("p", sensors.PowerOn)
		r.live(4 * time.Minute)
		p := r.Snapshot().Probes[0]
		if p.Latest.Celsius != 28 || p.Fault != sensors.PowerOn || p.Faults[sensors.PowerOn] != 24 {
			t.Errorf("probe now %+v; want the last reading, its fault and 24 of them", p)
		}
		r.live(2 * time.Minute)
		s := r.Snapshot()
		if !s.Probes[0].Stale || s.Places[1].Celsius != nil {
			t.Errorf("after 6 minutes stale %v, place shows %v; want stale and nothing", s.Probes[0].Stale, s.Places[1].Celsius)
		}
		if diff := cmp.Diff([]string{"raised stale p"}, r.post.said()); diff != "" {
			t.Errorf("notices (-want +got):\n%s", diff)
		}
	})
}

func TestEggsWithoutAProbeAreToldOf(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.live(time.Minute)
		r.hand.silent("p")
		r.live(25 * time.Minute)
		if !slices.Contains(r.post.said(), "raised eggs-unwatched box") {
			t.Errorf("said %v; nobody said that the eggs are unwatched", r.post.said())
		}
	})
}

func TestUntrustedClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoom(t, store, "p")
		truth := time.Now()
		r.wall, r.trusted = -56*365*24*time.Hour, false // a Pi wakes up long ago
		r.hand.celsius("p", 25)
		r.live(5 * time.Minute)
		if n := store.count("p"); n != 0 {
			t.Fatalf("%d readings stored under a time nobody believes", n)
		}
		_, err := r.Do(t.Context(), monitor.Change{Entry: &book.Entry{Kind: book.KindNote, Data: []byte(`{"text":"x"}`)}})
		if refusal, ok := errors.AsType[*monitor.Refusal](err); !ok || refusal.Field != "at" {
			t.Errorf("an entry under a wrong clock: %v; want it refused because of its time", err)
		}
		r.live(6 * time.Minute)
		if !slices.Contains(r.post.said(), "raised clock clutchd") {
			t.Errorf("said %v; after ten minutes the clock is worth a word", r.post.said())
		}

		r.wall, r.trusted = 0, true
		r.hand.celsius("p", 26)
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if n := store.count("p"); n != 12*6 {
			t.Errorf("%d readings stored; want all 72 of twelve minutes", n)
		}
		for reading, err := range store.Range(t.Context(), "p", time.Time{}, time.Now().Add(time.Hour)) {
			if err != nil {
				t.Fatal(err)
			}
			since := reading.Time.Sub(truth)
			want := incubation.Celsius(25)
			if since >= 11*time.Minute {
				want = 26
			}
			if since < 0 || since%(10*time.Second) != 0 || reading.Celsius != want {
				t.Errorf("reading %.1f °C at %s after the start; want %.1f on a beat of 10 s", reading.Celsius, since, want)
			}
		}
	})
}

func TestAnOnDelayRunsOnWhenTheClockIsSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		first := newRoom(t, store, "p")
		first.hand.celsius("p", 28)
		first.live(time.Minute)
		first.incubator(28)
		first.live(time.Minute)
		if err := first.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}

		r := newRoom(t, store, "p")
		r.boot, r.wall, r.trusted = "boot-2", -20*365*24*time.Hour, false
		r.hand.celsius("p", 35)
		r.live(5 * time.Minute)
		r.wall, r.trusted = 0, true
		r.live(4*time.Minute + 50*time.Second)
		if slices.Contains(r.post.said(), "raised runaway-heat box") {
			t.Fatalf("said %v before its ten minutes were over", r.post.said())
		}
		r.live(30 * time.Second)
		if !slices.Contains(r.post.said(), "raised runaway-heat box") {
			t.Errorf("said %v; ten minutes are over whatever the clock did", r.post.said())
		}
	})
}

func TestAPhoneGivesTheTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.wall, r.trusted = -50*365*24*time.Hour, false
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		if _, err := r.Do(t.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{Now: time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC)}}); err == nil {
			t.Error("took a year that cannot be")
		}
		offered := time.Date(2026, 5, 1, 8, 0, 0, 0, time.UTC)
		if _, err := r.Do(t.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{Now: offered}}); err != nil {
			t.Fatal(err)
		}
		r.live(20 * time.Second)
		s := r.Snapshot()
		if d := s.Time.Sub(offered); !s.Trusted || d < 0 || d > time.Minute {
			t.Errorf("trusted %v, now %s; want it to go on from the phone's %s", s.Trusted, s.Time, offered)
		}
	})
}

// A disk that hangs delays neither judging nor sending, and nothing is lost.
func TestAHungDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoom(t, store, "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.live(time.Minute)

		store.trouble(nil, make(chan struct{}))
		r.hand.celsius("p", 39)
		r.live(3 * time.Minute)
		said := r.post.said()
		if !slices.Contains(said, "raised acute-heat box") || !slices.Contains(said, "raised store clutchd") {
			t.Errorf("said %v while the disk hung; want the heat and the disk", said)
		}
		if _, err := r.Do(t.Context(), monitor.Change{Entry: &book.Entry{Kind: book.KindNote, Request: "r1", Data: []byte(`{"text":"x"}`)}}); err == nil {
			t.Error("an entry was called kept while the disk hung")
		}

		store.trouble(nil, nil)
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got, want := len(store.notices), len(r.post.said()); got != want {
			t.Errorf("%d notices stored of %d sent", got, want)
		}
		if got, want := store.count("p"), 6*6; got != want {
			t.Errorf("%d readings stored, want all %d", got, want)
		}
		if n := len(r.Entries(0)); n != 6 {
			t.Errorf("%d entries; the one that waited becomes true once the disk answers", n)
		}
		done, err := r.Do(t.Context(), monitor.Change{Entry: &book.Entry{Kind: book.KindNote, Request: "r1", Data: []byte(`{"text":"x"}`)}})
		if err != nil || !done.Duplicate {
			t.Errorf("the same request again: %+v, %v; want the entry that is there", done, err)
		}
	})
}

func TestAFullDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoom(t, store, "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		store.trouble(errDisk, nil)
		_, err := r.Do(t.Context(), monitor.Change{Entry: &book.Entry{Kind: book.KindNote, Request: "r1", Data: []byte(`{"text":"x"}`)}})
		if !errors.Is(err, errDisk) {
			t.Errorf("an entry on a full disk: %v; want the disk's own word", err)
		}
		r.hand.celsius("p", 39)
		r.live(2 * time.Minute)
		if !slices.Contains(r.post.said(), "raised acute-heat box") {
			t.Errorf("said %v; heat does not wait for a disk", r.post.said())
		}
		store.trouble(nil, nil)
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got, want := len(store.notices), len(r.post.said()); got != want {
			t.Errorf("%d notices stored of %d sent", got, want)
		}
		if _, err := r.Do(t.Context(), monitor.Change{Entry: &book.Entry{Kind: book.KindNote, Request: "r1", Data: []byte(`{"text":"x"}`)}}); err != nil {
			t.Errorf("the same request once there is room: %v", err)
		}
	})
}

func TestADoubleTapIsOneEntry(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory())
		r.live(10 * time.Second)
		e := book.Entry{Kind: book.KindFemale, Request: "tap", Data: []byte(`{"female":"fern","name":"Fern"}`)}
		first, err := r.Do(t.Context(), monitor.Change{Entry: &e})
		if err != nil {
			t.Fatal(err)
		}
		second, err := r.Do(t.Context(), monitor.Change{Entry: &e})
		if err != nil || !second.Duplicate || second.Entry.Seq != first.Entry.Seq {
			t.Errorf("second tap: %+v, %v; want entry %d again", second, err, first.Entry.Seq)
		}
	})
}

func TestAcknowledgeNamesTheOccurrence(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.hand.celsius("p", 39)
		r.live(3 * time.Minute)
		id := "acute-heat.place.box"
		occurrence := r.Snapshot().Alerts[0].Occurrence
		for _, c := range []monitor.Acknowledge{
			{Alert: id, Occurrence: "of-yesterday", By: "x"},
			{Alert: "no-such.place.box", Occurrence: occurrence, By: "x"},
		} {
			if _, err := r.Do(t.Context(), monitor.Change{Acknowledge: &c}); err == nil {
				t.Errorf("acknowledged %+v", c)
			}
		}
		if _, err := r.Do(t.Context(), monitor.Change{Acknowledge: &monitor.Acknowledge{Alert: id, Occurrence: occurrence, By: "x"}}); err != nil {
			t.Fatal(err)
		}
		if a := r.Snapshot().Alerts[0]; a.Acknowledged.IsZero() || a.AcknowledgedBy != "x" {
			t.Errorf("alert %+v; want it acknowledged by x at once", a)
		}
	})
}

// After a restart an alert goes on where it stood, under its occurrence, and
// the gap is told.
func TestRestart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		first := newRoom(t, store, "p")
		first.hand.celsius("p", 28)
		first.live(time.Minute)
		first.incubator(28)
		first.clutch()
		first.hand.celsius("p", 39)
		first.live(3 * time.Minute)
		if err := first.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		before := first.Snapshot().Alerts

		time.Sleep(2 * time.Hour)
		r := newRoom(t, store, "p")
		r.hand.celsius("p", 39)
		r.live(time.Minute)
		i := slices.IndexFunc(r.Snapshot().Alerts, func(s alerts.State) bool { return s.Rule == "acute-heat" })
		if i < 0 || r.Snapshot().Alerts[i].Occurrence != before[0].Occurrence {
			t.Errorf("alerts after the restart %+v; want acute-heat under its occurrence %s", r.Snapshot().Alerts, before[0].Occurrence)
		}
		if diff := cmp.Diff([]string{"reminded acute-heat box", "raised away clutchd"}, r.post.said()); diff != "" {
			t.Errorf("notices after the restart (-want +got):\n%s", diff)
		}
		if n := r.post.got[1]; n.Severity != alerts.Critical || !strings.Contains(n.Text, "Box") {
			t.Errorf("away: %s %q; eggs came back outside their limits: critical, and where", n.Severity, n.Text)
		}
		if n := r.post.got[0]; n.ID <= 1<<12 {
			t.Errorf("id %d may have been given out before the restart", n.ID)
		}
	})
}

// A shelf's steady difference is learned and shown, not called a fault; an
// incubator's difference from the room is no shelf's.
func TestASteadyShelfIsAFinding(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air", "room")
		r.hand.celsius("p", 29.1)
		r.hand.celsius("air", 28)
		r.hand.celsius("room", 22)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindPlace, book.PlaceData{Place: "room", Kind: incubation.Room, Name: "Room"})
		r.enter(book.KindStand, book.StandData{Place: "inc", In: "room"})
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
		r.enter(book.KindProbe, book.ProbeData{Probe: "room", Place: "room"})
		r.days(2)
		for _, p := range r.Snapshot().Places {
			switch {
			case p.ID == "box" && (p.Offset == nil || *p.Offset < 1.05 || *p.Offset > 1.15):
				t.Errorf("box learned %v, want 1.1 K over its incubator", p.Offset)
			case p.ID == "inc" && p.Offset != nil:
				t.Errorf("incubator learned %.1f K over the room: that is no shelf", *p.Offset)
			}
		}
		for _, a := range r.Snapshot().Alerts {
			if a.Rule == "off-setpoint" && a.Told() {
				t.Errorf("still told of %s: %s", a.Alert, a.Text)
			}
		}
	})
}
