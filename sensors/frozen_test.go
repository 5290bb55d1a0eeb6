package sensors_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// healthy is a room with a box whose probes are the usual ones: a one-wire
// chip, a fine one, a coarse one, and a battery sensor's step.
func healthy() simulated.Spec {
	spec := simulated.Spec{
		Interval: 30 * time.Second,
		Weather:  simulated.Weather{Place: "room", Mean: 21, Swing: 1.5, Peak: 14, Moods: 1},
		Cabinets: []simulated.Cabinet{{
			Place: "cabinet", Hysteresis: 0.4, Watts: 40, Losses: 1.25, Capacity: 7500,
			Settings: []simulated.Setting{{Celsius: 28}},
		}},
		Tubs: []simulated.Tub{{Place: "box", In: "cabinet", Lag: 35 * time.Minute, Shelf: -0.4}},
	}
	for id, chip := range map[string]struct{ resolution, noise float64 }{
		"one-wire": {0.0625, 0.03}, "still": {0.0625, 0.002}, "fine": {0.01, 0.01}, "coarse": {0.5, 0.02},
	} {
		spec.Probes = append(spec.Probes, simulated.Probe{
			Probe: sensors.Probe{ID: id, Has: incubation.Temperature, Resolution: chip.resolution},
			Place: "box", Noise: chip.noise,
		})
	}
	return spec
}

// Sixty healthy days, of four chips in a steady box: no reading in doubt.
func TestHealthyDays(t *testing.T) {
	room := simulated.New(healthy(), 1, noon)
	streams := map[string]*sensors.Stream{}
	seen := map[incubation.Quality]int{}
	judge := func(o sensors.Outcome) {
		if streams[o.Probe] == nil {
			streams[o.Probe] = &sensors.Stream{}
		}
		p := sensors.Probe{ID: o.Probe, Interval: 30 * time.Second}
		for _, known := range room.Probes() {
			if known.ID == o.Probe {
				p = known
			}
		}
		r := o.Reading
		r.Time = o.Time
		q, fault := streams[o.Probe].Judge(p, r)
		if fault != nil {
			t.Fatalf("%v", fault)
		}
		seen[q]++
		if q.Doubtful() && seen[q] < 4 {
			t.Errorf("%s at %v: %g °C is %s; it rested for %v at most", o.Probe, o.Time, r.Celsius, q,
				streams[o.Probe].Longest())
		}
	}
	for day := range 60 {
		for _, o := range room.Sample(context.Background(), noon.Add(time.Duration(day)*24*time.Hour)) {
			judge(o)
		}
	}
	t.Logf("of %d readings: %v", seen[incubation.Good], seen)
	for id, s := range streams {
		t.Logf("%s rested for %v at most", id, s.Longest())
	}
}

// How long a value that froze for real stays unnoticed, by how restless its
// sensor was.
func TestFrozenIsFound(t *testing.T) {
	for _, row := range []struct {
		why               string
		resolution, noise float64
		swing             float64 // of the place, over a day, K
		most              time.Duration
	}{
		{"a fine chip that flickers", 0.01, 0.01, 0.3, 90 * time.Minute},
		{"a one-wire chip that flickers", 0.0625, 0.03, 0.3, 90 * time.Minute},
		{"a one-wire chip without noise rests for hours by itself", 0.0625, 0, 0.3, 48 * time.Hour},
	} {
		dice := rand.New(rand.NewPCG(3, 4))
		p := sensors.Probe{Interval: 30 * time.Second, Resolution: row.resolution}
		var s sensors.Stream
		at := noon
		value := 0.0
		for ; at.Before(noon.Add(72 * time.Hour)); at = at.Add(p.Interval) {
			true := 28 + row.swing*math.Sin(2*math.Pi*at.Sub(noon).Hours()/24) + row.noise*dice.NormFloat64()
			value = math.Round(true/row.resolution) * row.resolution
			if q, _ := s.Judge(p, celsius(at, value)); q == incubation.Frozen {
				t.Errorf("%s: frozen while it lives, at %v", row.why, at.Sub(noon))
			}
		}
		froze := at
		for at.Before(froze.Add(row.most)) {
			if q, _ := s.Judge(p, celsius(at, value)); q == incubation.Frozen {
				break
			}
			at = at.Add(p.Interval)
		}
		t.Logf("%s: longest rest %v, found after %v", row.why, s.Longest(), at.Sub(froze))
		if !at.Before(froze.Add(row.most)) {
			t.Errorf("%s: not found within %v; it rested for %v at most", row.why, row.most, s.Longest())
		}
		if q, _ := s.Judge(p, celsius(at.Add(p.Interval), value+row.resolution)); q == incubation.Frozen {
			t.Errorf("%s: it moves and is still frozen", row.why)
		}
	}
}

// A value that has never been seen to move tells nothing of whether it can.
func TestStillFromTheStart(t *testing.T) {
	var s sensors.Stream
	for i := range 7 * 24 * 60 {
		q, _ := s.Judge(sensors.Probe{Interval: time.Minute}, celsius(noon.Add(time.Duration(i)*time.Minute), 28))
		if q != incubation.Good {
			t.Fatalf("%s after %d minutes", q, i)
		}
	}
}
