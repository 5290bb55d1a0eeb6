package thermal_test

import (
	"math"
	"testing"
	"time"

	"clutchd/incubation/thermal"
)

func TestCoolingUntil(t *testing.T) {
	c := thermal.Cooling{Tau: 2 * time.Hour, SD: 0.2}
	tests := []struct {
		name              string
		from, room, limit float64
		minutes           float64 // under zero: never
	}{
		// T(t) = room + (from - room)·exp(-t/tau), solved for t.
		{"to half of its warmth in tau·ln 2", 32, 20, 26, 120 * math.Ln2},
		{"under the limit already: at once", 25, 20, 26, 0},
		{"a room at the limit keeps it there", 32, 26, 26, -1},
		{"a warm room takes longer", 32, 25, 26, 120 * math.Log(7)},
		{"what is no number is never reached", math.NaN(), 20, 26, -1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, ok := c.Until(tt.from, tt.room, tt.limit)
			if ok != (tt.minutes >= 0) || ok && math.Abs(r.Likely.Minutes()-tt.minutes) > 1e-6 {
				t.Fatalf("in %v (%v), want %.2f min", r.Likely, ok, tt.minutes)
			}
			if back := c.At(tt.from, tt.room, r.Likely); r.Likely > 0 && math.Abs(back-tt.limit) > 1e-6 {
				t.Errorf("then it is %.3f, not %.3f", back, tt.limit)
			}
			if r.Early > r.Likely || r.Likely > 0 && r.Early <= 0 {
				t.Errorf("early %v, likely %v", r.Early, r.Likely)
			}
		})
	}
	if (c.Half() - 83*time.Minute - 10596*time.Millisecond).Abs() > time.Second { // 120 min·ln 2
		t.Errorf("half in %v", c.Half())
	}
	if thermal.Typical().Learned() {
		t.Error("the typical curve passes for a learned one")
	}
}

// learned feeds a record to a learner.
func learned(points []thermal.Point, room *float64) (thermal.Cooling, bool) {
	var l thermal.Learner
	for _, p := range points {
		l.Add(p, room)
	}
	return l.Curve()
}

// cycle is an on/off thermostat's: it heats as a straight line and cools as
// without heat.
func cycle(aim, swing, room, tau float64) func(float64) float64 {
	const warm = 3.0 // minutes of heating
	top, low := aim+swing/2, aim-swing/2
	cool := tau * math.Log((top-room)/(low-room))
	return func(m float64) float64 {
		m = math.Mod(m, warm+cool)
		if m < warm {
			return low + swing*m/warm
		}
		return room + (top-room)*math.Exp(-(m-warm)/tau)
	}
}

func TestLearner(t *testing.T) {
	tests := []struct {
		name   string
		length time.Duration
		noise  float64
		curve  func(float64) float64
		room   *float64
		tau    float64 // minutes; zero: nothing is learned
		within float64 // share of it
		seen   int
	}{
		{"a fall without heat, the room measured", 2 * time.Hour, 0.03, toward(28, 21, 90), ptr(21.0), 90, 0.03, 1},
		{"while it still goes on", 50 * time.Minute, 0.03, toward(28, 21, 90), ptr(21.0), 90, 0.06, 1},
		{"nobody measured the room, and it fell far", 5 * time.Hour, 0.03, toward(32, 21, 90), nil, 90, 0.15, 1},
		{"nobody did, and it fell little: a judged room of 22", 90 * time.Minute, 0.03, toward(31, 22, 180), nil, 180, 0.1, 1},
		{"a fall of 1.5 K is no outage", 40 * time.Minute, 0.03, func(m float64) float64 {
			return math.Max(26.5, toward(28, 21, 90)(m))
		}, nil, 0, 0, 0},
		{
			"a thermostat's pauses, the room measured", 20 * time.Hour, 0.03, cycle(28, 0.6, 21, 90), ptr(21.0), 90, 0.1, 0,
		},
		{"its pauses tell nothing in a room that is not", 20 * time.Hour, 0.03, cycle(28, 0.6, 21, 90), nil, 0, 0, 0},
		{"two pauses are too few", 2 * time.Hour, 0.03, cycle(28, 0.6, 21, 90), ptr(21.0), 0, 0, 0},
		{"a constant record teaches nothing", 20 * time.Hour, 0.05, straight(28, 0), ptr(21.0), 0, 0, 0},
		// Half an hour at a sixth of its walls, then shut.
		{"a door is no loss through the walls", 2 * time.Hour, 0.03, func(m float64) float64 {
			if m < 10 {
				return toward(28, 21, 15)(m)
			}
			return toward(toward(28, 21, 15)(10), 21, 400)(m - 10)
		}, ptr(21.0), 0, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			points := record(tt.length, 10*time.Second, tt.noise, tt.curve)
			got, ok := learned(points, tt.room)
			if ok != (tt.tau > 0) {
				t.Fatalf("learned %v: %+v", ok, got)
			}
			if !ok {
				return
			}
			if off := got.Tau.Minutes()/tt.tau - 1; math.Abs(off) > tt.within {
				t.Errorf("%.1f min, truly %.1f", got.Tau.Minutes(), tt.tau)
			}
			if got.Seen != tt.seen || got.SD <= 0 || math.Abs(math.Log(got.Tau.Minutes()/tt.tau)) > 2.5*got.SD {
				t.Errorf("seen %d times, cycles %d, sd %.3f", got.Seen, got.Cycles, got.SD)
			}
		})
	}
}

// A probe that speaks every five minutes teaches the same.
func TestLearnerOfASlowProbe(t *testing.T) {
	got, ok := learned(record(3*time.Hour, 5*time.Minute, 0.03, toward(28, 21, 90)), ptr(21.0))
	if !ok || math.Abs(got.Tau.Minutes()-90) > 5 {
		t.Errorf("%v (%v), truly 1h30m", got.Tau, ok)
	}
}

// What was between two points too far apart is not known: no fall goes over it.
func TestLearnerBreaksAtAGap(t *testing.T) {
	var l thermal.Learner
	points := record(4*time.Hour, 10*time.Second, 0.02, toward(28, 21, 90))
	for _, p := range points {
		if gone := p.At.Sub(t0); gone < 20*time.Minute || gone > 3*time.Hour {
			l.Add(p, ptr(21.0))
		}
	}
	if got, ok := l.Curve(); ok {
		t.Errorf("learned %v over a gap", got.Tau)
	}
	l.Break()
	if _, ok := l.Curve(); ok {
		t.Error("a fall that was broken off counts")
	}
}

// Three falls make a curve of three, no less sure than one.
func TestLearnerSumsUp(t *testing.T) {
	var l thermal.Learner
	one := record(90*time.Minute, 20*time.Second, 0.03, toward(28, 21, 90))
	var sds []float64
	for i := range 3 {
		for _, p := range one {
			p.At = p.At.Add(time.Duration(i) * 24 * time.Hour)
			l.Add(p, ptr(21.0))
		}
		l.Add(thermal.Point{At: one[len(one)-1].At.Add(time.Duration(i)*24*time.Hour + time.Minute), Celsius: 28}, ptr(21.0))
		c, _ := l.Curve()
		sds = append(sds, c.SD)
		if c.Seen != i+1 {
			t.Errorf("after %d falls %d are counted", i+1, c.Seen)
		}
	}
	if sds[2] > sds[0]+1e-9 {
		t.Errorf("surer of one fall than of three: %v", sds)
	}
}

func TestBand(t *testing.T) {
	swing := cycle(28, 1, 21, 90)
	feed := func(length time.Duration, curve func(float64) float64) *thermal.Band {
		b := &thermal.Band{}
		for _, p := range record(length, 30*time.Second, 0, curve) {
			b.Add(p)
		}
		return b
	}
	if _, _, ok := feed(5*time.Hour, swing).Usual(); ok {
		t.Error("five hours tell what is usual")
	}
	low, high, ok := feed(24*time.Hour, swing).Usual()
	if !ok || math.Abs(low-27.5) > 0.05 || math.Abs(high-28.5) > 0.05 {
		t.Errorf("a swing of 1 K about 28 is from %.2f to %.2f (%v)", low, high, ok)
	}
	fever := func(m float64) float64 {
		if m > 60*60 && m < 65*60 {
			return 34
		}
		return swing(m)
	}
	if _, high, _ := feed(72*time.Hour, fever).Usual(); high > 28.6 {
		t.Errorf("five hours of fever make %.1f usual", high)
	}
	door := func(m float64) float64 {
		if math.Mod(m, 12*60) < 10 {
			return 24
		}
		return swing(m)
	}
	if low, _, _ := feed(72*time.Hour, door).Usual(); low < 27.4 {
		t.Errorf("a door twice a day makes %.1f usual", low)
	}
}
