package monitor_test

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A live egg can be asked what would narrow its estimate; others say why not.
func TestNarrowingsOfALiveEgg(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 30.2)
		r.live(time.Minute)
		r.incubator(30.2)
		r.clutch()
		r.days(8)
		now := r.estimateOf("fern-1a")
		each, err := r.Narrowings("fern-1a")
		if err != nil || len(each) != 5 || now == nil {
			t.Fatalf("got %d answers, %v, estimate %v", len(each), err, now)
		}
		sure := 0
		for _, n := range each {
			if n.Sex.Words != "" {
				t.Errorf("without %s it has words: %q", n.Without, n.Sex.Words)
			}
			if n.Sex.High-n.Sex.Low < now.Sex.High-now.Sex.Low-0.03 {
				sure++
			}
		}
		if sure == 0 {
			t.Error("near the pivotal temperature no doubt weighs anything")
		}
		r.enter(book.KindFail, book.FailData{Egg: "fern-1b"})
		for egg, want := range map[string]string{"fern-1b": "failed", "none": "has no egg"} {
			_, err := r.Narrowings(egg)
			refusal, ok := err.(*monitor.Refusal)
			if !ok || !strings.Contains(refusal.Text, want) {
				t.Errorf("egg %s: %v, want a refusal that says %q", egg, err, want)
			}
		}
	})
}

// Once an egg has pipped, the hatch is a matter of days from there, whatever
// its record let expect.
func TestAPippedEggIsExpectedWithinDays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 30)
		r.live(time.Minute)
		r.incubator(30)
		r.clutch()
		r.logged(40, "p", 30)
		before := r.estimateOf("fern-1a").Hatch
		pipped := time.Now()
		r.enter(book.KindPip, book.EggEvent{Egg: "fern-1a"})
		r.live(20 * time.Minute)
		after := r.estimateOf("fern-1a").Hatch
		if long := before.Latest.Sub(before.Earliest); long < 5*24*time.Hour {
			t.Fatalf("the window was only %v long before", long)
		}
		if after.Earliest.Before(pipped) || after.Latest.After(pipped.Add(5*24*time.Hour)) {
			t.Errorf("pipped %v, expected %v to %v", pipped, after.Earliest, after.Latest)
		}
		if sibling := r.estimateOf("fern-1b").Hatch; sibling.Latest.Sub(sibling.Earliest) < 5*24*time.Hour {
			t.Errorf("its sibling's window became %v to %v", sibling.Earliest, sibling.Latest)
		}
	})
}

// The alert that the sex is being set says until when that can be changed.
func TestTheOpeningSaysUntilWhenAChangeMatters(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 32)
		r.live(time.Minute)
		r.incubator(32)
		r.clutch()
		r.days(10)
		e := r.estimateOf("fern-1a")
		a := r.alert("tsp-open.egg.fern-1a")
		if a == nil || e.TSP.State != incubation.TSPOpen {
			t.Fatalf("no alert; TSP %+v", e.TSP)
		}
		by, _ := e.TSP.DecideBy(time.Now(), time.UTC)
		want := "Decide on a change by " + by.Format("2 January")
		if !strings.Contains(a.Text, want) {
			t.Errorf("%q does not say %q", a.Text, want)
		}
	})
}
