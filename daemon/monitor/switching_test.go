package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/sensors/simulated"
)

// TestBumpedDial: a thermostat that switches on, at a dial that was turned up
// and is not in the book, is no heater that is stuck: what tells of it are the
// rules about the setpoint, if it is off by more than they allow.
func TestBumpedDial(t *testing.T) {
	arithmetic(t)
	of := func(swing, watts float64, feeler time.Duration) cabinet {
		return cabinet{id: "a", setpoint: 28, swing: swing, watts: watts, losses: 1.2, tau: 90, feeler: feeler}
	}
	tests := []struct {
		name  string
		c     cabinet
		by    float64 // K
		tells bool    // whether off-setpoint or too-warm must: its mean is clearly over 1 K off
	}{
		{"swing 0.4", of(0.4, 40, 0), 1, false},
		{"swing 0.7", of(0.7, 40, 0), 1, false},
		{"swing 0.7, further than off-setpoint allows", of(0.7, 40, 0), 1.2, true},
		{"swing 1.0", of(1, 40, 0), 1, false},
		{"swing 1.5, 80 W", of(1.5, 80, 0), 1, false},
		{"swing 0.3 by the dial, more by a slow feeler", of(0.3, 40, 2*time.Minute), 1, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				const healthy = 8*time.Hour + 40*time.Minute
				at := time.Now().UTC().Add(healthy)
				bumped := simulated.Fault{Kind: simulated.Bumped, Subject: "a", From: at, Size: tt.by}
				s := newSimulatedRoom(t, 10*time.Second, []simulated.Fault{bumped}, tt.c)
				s.pass(healthy, time.Minute, nil)
				highest := 0.0
				s.pass(3*time.Hour, 10*time.Second, func(time.Time) {
					highest = max(highest, float64(*s.place("a").Celsius))
				})
				if highest < tt.c.setpoint+tt.by {
					t.Fatalf("it came to %.1f °C only", highest)
				}
				for _, n := range s.raisedBy("heating-early") {
					t.Errorf("%.0f min after: %s", n.Time.Sub(at).Minutes(), n.Text)
				}
				tells := s.raisedBy("off-setpoint", "too-warm")
				for _, n := range tells {
					t.Logf("%s, %.0f min after: %s", n.Rule, n.Time.Sub(at).Minutes(), n.Text)
				}
				if tt.tells && len(tells) == 0 {
					t.Errorf("nothing told, though it came to %.1f °C", highest)
				}
			})
		})
	}
}
