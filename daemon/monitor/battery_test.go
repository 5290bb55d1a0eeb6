package monitor_test

import (
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors/simulated"
)

// twoIncubators sets up a second one, each with an air probe.
func (r *room) twoIncubators(first, second incubation.Celsius) {
	r.Helper()
	r.incubator(first)
	r.enter(book.KindPlace, book.PlaceData{Place: "warm", Kind: incubation.Incubator, Name: "Warm"})
	r.enter(book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: second})
	r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
	r.enter(book.KindProbe, book.ProbeData{Probe: "warm", Place: "warm"})
}

// Expected minutes are 180·ln((T - 22)/(limit - 22)): a typical cabinet of
// three hours in a judged room of 22 °C, or in the one that is measured.
func TestCountdown(t *testing.T) {
	tests := []struct {
		name     string
		setpoint incubation.Celsius
		now      incubation.Celsius
		room     incubation.Celsius // zero: not measured
		limit    incubation.Celsius
		minutes  float64
		never    bool
	}{
		{"down to 26, where constant incubation is known to hatch", 31, 31, 0, 26, 180 * math.Log(9.0/4), false},
		{"from where it is now, whatever it is set to", 31, 28, 0, 26, 180 * math.Log(6.0/4), false},
		{"under 28 it is counted to 2 under its setpoint", 27, 27, 0, 25, 180 * math.Log(5.0/3), false},
		{"a cold room takes it sooner", 31, 31, 16, 26, 180 * math.Log(15.0/10), false},
		{"a room over the limit never", 31, 31, 26.5, 26, 0, true},
		{"under it already: no time is left", 31, 25, 0, 26, 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRoom(t, newMemory(), "p", "air", "hall")
				r.live(10 * time.Second)
				r.incubator(tt.setpoint)
				r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
				if tt.room != 0 {
					r.enter(book.KindPlace, book.PlaceData{Place: "hall", Kind: incubation.Room, Name: "Hall"})
					r.enter(book.KindProbe, book.ProbeData{Probe: "hall", Place: "hall"})
					r.hand.celsius("hall", tt.room)
				}
				r.hand.celsius("air", tt.now)
				r.tells("ups", incubation.Mains, "present")
				r.live(20 * time.Second)
				if c := r.place("inc").Countdown; c != nil {
					t.Errorf("with the mains there it counts down %+v", c)
				}
				r.tells("ups", incubation.Mains, "off")
				r.live(20 * time.Second)
				c := r.place("inc").Countdown
				if c == nil {
					t.Fatal("no countdown")
				}
				if c.Limit != tt.limit || c.Never != tt.never || !c.Guess || c.Early > c.Likely ||
					math.Abs(c.Likely.Minutes()-tt.minutes) > 0.01 {
					t.Errorf("%+v, want %.2f min to %v, never %v", c, tt.minutes, tt.limit, tt.never)
				}
			})
		})
	}
}

// One message names the incubators with eggs, the first to be too cool first;
// one that has none is not named, one whose probe is silent is not guessed at.
func TestOnBatteryNamesWhatCoolsFirst(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air", "warm")
		r.live(10 * time.Second)
		r.twoIncubators(31, 32)
		r.clutch()
		r.enter(book.KindPlace, book.PlaceData{Place: "tub", Kind: incubation.Box, Name: "Tub"})
		r.enter(book.KindStand, book.StandData{Place: "tub", In: "warm"})
		r.enter(book.KindEgg, book.EggData{Egg: "fern-1b", Box: "tub"})
		r.hand.celsius("air", 30)
		r.hand.celsius("warm", 28)
		r.tells("ups", incubation.Mains, "present")
		r.live(time.Minute)
		r.tells("ups", incubation.Mains, "off")
		r.live(2 * time.Minute)
		a := r.alert("on-battery.contact.ups")
		if a == nil {
			t.Fatal("the power cut is not told")
		}
		const want = "Warm (28.0 °C) falls under 26.0 °C in about 1 h 10 min (a guess: typical cabinet), " +
			"Incubator (30.0 °C) falls under 26.0 °C in about 2 h (a guess: typical cabinet)."
		if !strings.Contains(a.Text, want) {
			t.Errorf("told: %s\nwant: %s", a.Text, want)
		}
		if a.Severity != alerts.Warning || len(a.Eggs) != 2 {
			t.Errorf("severity %s, eggs %v", a.Severity, a.Eggs)
		}
		t.Log(a.Text)
		r.enter(book.KindFail, book.FailData{Egg: "fern-1b", Cause: "mould"})
		r.live(20 * time.Second)
		if a := r.alert("on-battery.contact.ups"); strings.Contains(a.Text, "Warm (") {
			t.Errorf("an incubator without live eggs is counted down: %s", a.Text)
		}
		r.hand.celsius("air", 24)
		r.live(2 * time.Minute)
		if a := r.alert("on-battery.contact.ups"); a.Severity != alerts.Critical || !strings.Contains(a.Text, "is under 26.0 °C already") {
			t.Errorf("%s: %s", a.Severity, a.Text)
		}
		r.tells("ups", incubation.Mains, "present")
		r.hand.celsius("air", 30)
		r.live(3 * time.Minute)
		if a := r.alert("on-battery.contact.ups"); a == nil || !strings.Contains(a.Text, "Incubator fell to 24.0 °C, Warm fell to 28.0 °C") {
			t.Errorf("afterwards: %+v", a)
		} else {
			t.Log(a.Text)
		}
	})
}

// Two contacts that tell of the same mains tell once.
func TestOnBatteryIsToldOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air")
		r.live(10 * time.Second)
		r.incubator(31)
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
		r.hand.celsius("air", 31)
		for _, id := range []string{"ups", "relay"} {
			r.tells(id, incubation.Mains, "present")
		}
		r.live(time.Minute)
		r.tells("relay", incubation.Mains, "off")
		r.live(20 * time.Second)
		r.tells("ups", incubation.Mains, "off")
		r.live(5 * time.Minute)
		var told []string
		for _, s := range r.post.said() {
			if strings.Contains(s, "on-battery") {
				told = append(told, s)
			}
		}
		if len(told) != 1 || told[0] != "raised on-battery relay" {
			t.Errorf("told %q", told)
		}
	})
}

// A cabinet that was seen to cool counts down by its own curve, which a restart
// does not make a guess again.
func TestCurveSurvivesARestart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		at := time.Now().UTC().Add(9 * time.Hour)
		trip := simulated.Fault{Kind: simulated.Tripped, Subject: "a", From: at, To: at.Add(100 * time.Minute)}
		s := newSimulatedRoom(t, time.Minute, []simulated.Fault{trip},
			cabinet{id: "a", setpoint: 31.5, swing: 0.6, watts: 40, losses: 1.2, tau: 90})
		s.pass(13*time.Hour, time.Minute, nil)
		before := s.place("a").Cooling
		if before == nil || before.Seen != 1 || math.Abs(before.Tau.Minutes()-90) > 5 {
			t.Fatalf("learned %+v, truly 90 min", before)
		}
		if err := s.Sync(s.Context()); err != nil {
			t.Fatal(err)
		}
		next := newRoomOf(t, s.store, func(o *monitor.Options) { o.Sampler = s.sim })
		for range 3 {
			time.Sleep(time.Minute)
			next.Tick(next.Context(), next.instant())
			synctest.Wait()
		}
		after := next.place("a").Cooling
		if after == nil || after.Seen != before.Seen || math.Abs(after.Tau.Minutes()/before.Tau.Minutes()-1) > 0.02 {
			t.Errorf("before the restart %+v, after it %+v", before, after)
		}
	})
}
