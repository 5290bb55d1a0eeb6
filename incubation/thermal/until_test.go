package thermal_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/incubation/thermal"
)

func TestRise(t *testing.T) {
	tests := []struct {
		name   string
		curve  func(float64) float64
		length time.Duration
		limit  float64
		likely float64 // minutes; under zero: never
		within float64
	}{
		{"a straight rise takes what is left over its slope", straight(32.4, 0.12), 0, 34.5, 17.5, 0.01},
		{"over the limit already: at once", straight(34.6, 0.1), 0, 34.5, 0, 0},
		{"a constant record reaches nothing", straight(28, 0), 0, 28.1, -1, 0},
		{"a fall does not rise", straight(30, -0.1), 0, 34.5, -1, 0},
		{
			"a stuck heater whose balance is far over the limit", toward(28, 55, 90), 10 * time.Minute, 34.5,
			90*math.Log(27.0/20.5) - 10, 1,
		},
		{"a cabinet that warms to 32.0 and stays there", toward(28, 32, 12), 24 * time.Minute, 34.5, -1, 0},
		{"the same, asked about what it does reach", toward(28, 32, 20), 12 * time.Minute, 31.8, 20*math.Log(4/0.2) - 12, 4},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			length := tt.length
			if length == 0 {
				length = 6 * time.Minute
				curve := tt.curve
				tt.curve = func(m float64) float64 { return curve(m - 6) }
			}
			got, ok := window(record(length, 20*time.Second, 0, tt.curve)).Rise(tt.limit)
			if ok != (tt.likely >= 0) {
				t.Fatalf("reached: %v, in %v", ok, got.Likely)
			}
			if ok && (math.Abs(got.Likely.Minutes()-tt.likely) > tt.within || got.Early > got.Likely) {
				t.Errorf("in %.2f min, %.2f at the earliest, want %.2f", got.Likely.Minutes(), got.Early.Minutes(), tt.likely)
			}
		})
	}
}

func TestFall(t *testing.T) {
	tests := []struct {
		name   string
		floor  *float64
		limit  float64
		likely float64
		within float64
	}{
		// A cabinet without heat: 28 °C, time constant 90 min, room 21.5.
		{"the room tells what it falls towards", ptr(21.5), 26, 90*math.Log(6.5/4.5) - 10, 0.5},
		{"a room as warm as the limit keeps it above", ptr(26.2), 26, -1, 0},
		{"a room that is warmer than the place is no floor", ptr(29.0), 26, 18, 4},
		{"without it the bend or the straight line tells", nil, 26, 20, 4},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := window(record(10*time.Minute, 20*time.Second, 0, toward(28, 21.5, 90))).Fall(tt.limit, tt.floor)
			if ok != (tt.likely >= 0) {
				t.Fatalf("reached: %v, in %v", ok, got.Likely)
			}
			if ok && math.Abs(got.Likely.Minutes()-tt.likely) > tt.within {
				t.Errorf("in %.2f min, want %.2f", got.Likely.Minutes(), tt.likely)
			}
		})
	}
}

// With noise the bend is found well enough to keep silent: of 60 records of each
// kind none is said to reach 34.5 soon once twelve minutes were seen.
func TestStopsBelowTheLimit(t *testing.T) {
	for _, way := range [...]struct{ to, tau float64 }{{32, 12}, {33, 8}, {32.5, 20}} {
		for i := range 60 {
			length := 12*time.Minute + time.Duration(i)*10*time.Second
			w := window(record(length, 20*time.Second, 0.03, toward(28, way.to, way.tau)))
			if r, ok := w.Rise(34.5); ok && r.Likely < 30*time.Minute {
				t.Errorf("towards %v, after %v: %v to a limit that is never reached", way.to, length, r.Likely)
			}
		}
	}
}

func TestApproach(t *testing.T) {
	for _, tau := range []float64{12, 30, 60} {
		w := window(record(36*time.Minute, 20*time.Second, 0, toward(26, 33, tau)))
		a, ok := w.Approach()
		if !ok || math.Abs(a.Toward-33) > 0.2 || math.Abs(a.Tau.Minutes()-tau) > tau/10 {
			t.Errorf("towards %.2f with %.1f min (%v), truly 33 with %.0f", a.Toward, a.Tau.Minutes(), ok, tau)
		}
	}
	if a, ok := window(record(36*time.Minute, 20*time.Second, 0.03, straight(28, 0.1))).Approach(); ok && a.Far < 36 {
		t.Errorf("a straight line bends towards %.1f", a.Far)
	}
}

// The faster, the sooner; never below zero; twice the differences of record
// and limit change nothing.
func TestReachProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slow := rapid.Float64Range(0.01, 0.5).Draw(t, "slope")
		fast := slow * rapid.Float64Range(1.1, 4).Draw(t, "faster")
		limit := rapid.Float64Range(28.5, 40).Draw(t, "limit")
		k := rapid.Float64Range(0.2, 5).Draw(t, "k")
		rise := func(slope, k, limit float64) thermal.Reach {
			points := record(6*time.Minute, 20*time.Second, 0, func(m float64) float64 { return k * (28 + slope*(m-6)) })
			r, ok := window(points).Rise(k * limit)
			if !ok {
				t.Fatalf("%.3f a minute never reaches %.1f", slope, limit)
			}
			return r
		}
		a, b := rise(slow, 1, limit), rise(fast, 1, limit)
		if b.Likely >= a.Likely || b.Likely < 0 {
			t.Errorf("%.3f a minute takes %v, %.3f takes %v", slow, a.Likely, fast, b.Likely)
		}
		if c := rise(slow, k, limit); (c.Likely - a.Likely).Abs() > time.Second {
			t.Errorf("scaled by %.2f it takes %v, not %v", k, c.Likely, a.Likely)
		}
	})
}

// A record that only scatters reaches nothing soon.
func TestConstantReachesNothing(t *testing.T) {
	soon := 0
	for i := range 300 {
		length := 8*time.Minute + time.Duration(i)*time.Millisecond
		w := window(record(length, 20*time.Second, 0.05, straight(28, 0)))
		if r, ok := w.Rise(34.5); ok && r.Likely < 30*time.Minute {
			soon++
		}
		if r, ok := w.Fall(26, nil); ok && r.Likely < 30*time.Minute {
			soon++
		}
	}
	if soon > 0 {
		t.Errorf("%d of 300 constant records reach a limit within half an hour", soon)
	}
}
