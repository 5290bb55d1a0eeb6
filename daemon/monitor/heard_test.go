package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
)

// A spike raises nothing and clears nothing, however hot it is, and is kept
// with its mark; a place goes on by what was believed before.
func TestASpikeIsNoNews(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.live(3 * time.Hour)
		spike := func(c incubation.Celsius) {
			before := r.place("box").Celsius
			r.hand.celsius("p", c)
			r.live(10 * time.Second)
			if now := r.place("box").Celsius; *now != *before {
				t.Errorf("a spike takes the box from %g to %g °C", *before, *now)
			}
			if q := r.Snapshot().Probes[0].Latest.Quality; q != incubation.Spiked {
				t.Errorf("%g °C is %s", c, q)
			}
			r.hand.celsius("p", *before)
			r.live(5 * time.Minute)
		}
		for range 10 {
			spike(60)
			spike(15)
		}
		if said := r.post.said(); len(said) != 1 || said[0] != "raised probe-doubt p" {
			t.Errorf("spikes told of %q: more than that there are many", said)
		}
		r.hand.celsius("p", 30)
		r.live(11 * time.Minute)
		spike(20)
		if a := r.alert("too-warm.place.box"); a == nil || !a.Ended.IsZero() || *a.Value != 30 {
			t.Errorf("after a cool spike in the heat: %+v", a)
		}
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		marked := 0
		for _, one := range r.store.readings["p"] {
			if one.Quality == incubation.Spiked && (one.Celsius == 60 || one.Celsius == 15 || one.Celsius == 20) {
				marked++
			}
		}
		if marked != 21 {
			t.Errorf("%d spikes are kept with their mark, want 21", marked)
		}
	})
}

// Two readings in a row are enough for heat that kills, though a step that
// large is not believed before the third, and counts as a jump for ten minutes.
func TestDoubtNeverHidesDeadlyHeat(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.clutch()
		r.live(3 * time.Hour)
		r.hand.celsius("p", 60)
		r.live(time.Minute + 10*time.Second)
		a := r.alert("acute-heat.place.box")
		if a == nil || !a.Told() {
			t.Fatal("a minute of 60 °C tells nothing")
		}
		if q := r.Snapshot().Probes[0].Latest.Quality; q != incubation.Jumped {
			t.Errorf("32 K in ten seconds are %s", q)
		}
		if r.alert("too-warm.place.box") != nil {
			t.Error("a jump tells of more than what kills")
		}
	})
}
