package thermal_test

import (
	"math"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/thermal"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// TestLearnsTheSimulatedCabinets holds what is learned against the capacity
// and the losses that the model was given, and says by how much it is off.
func TestLearnsTheSimulatedCabinets(t *testing.T) {
	trip := func(hours ...float64) []simulated.Fault {
		var out []simulated.Fault
		for _, h := range hours {
			out = append(out, simulated.Fault{Kind: simulated.Tripped, From: at(h * 60), To: at(h*60 + 100)})
		}
		return out
	}
	doors := func(day int) simulated.Fault {
		from := at(float64(day)*24*60 + 700)
		return simulated.Fault{Kind: simulated.Open, Subject: "cabinet", From: from, To: from.Add(8 * time.Minute)}
	}
	tests := []struct {
		name       string
		tau        float64 // minutes
		hysteresis float64
		setpoint   float64
		room       bool // a probe tells of it
		faults     []simulated.Fault
		cycles     bool
		within     float64
	}{
		{"three power cuts, the room measured", 90, 0.4, 28, true, trip(30, 50, 70), false, 0.05},
		{"one power cut, the room measured", 110, 0, 31.5, true, trip(30), false, 0.05},
		{"a light box of polystyrene", 40, 1, 28, true, trip(30, 50), false, 0.07},
		{"walls like a fridge's", 300, 1, 32, true, trip(30, 50), false, 0.1},
		{"one power cut, nobody measured the room", 90, 0.4, 31.5, false, trip(30), false, 0.25},
		{"its thermostat's pauses alone, swing 0.4", 90, 0.4, 28, true, nil, true, 0.1},
		{"the same, swing 1.0", 90, 1, 31.5, true, nil, true, 0.1},
		{"doors daily among them", 90, 1, 28, true, []simulated.Fault{doors(0), doors(1), doors(2)}, true, 0.15},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			const losses = 1.2
			room := simulated.New(simulated.Spec{
				Interval: 20 * time.Second,
				Weather:  simulated.Weather{Place: "room", Mean: 21.5, Swing: 1.3, Peak: 16},
				Cabinets: []simulated.Cabinet{{
					Place: "cabinet", Hysteresis: tt.hysteresis, Watts: 45, Losses: losses,
					Capacity: tt.tau * 60 * losses,
					Settings: []simulated.Setting{{From: t0, Celsius: tt.setpoint}},
				}},
				Probes: []simulated.Probe{
					{Probe: sensors.Probe{ID: "in", Has: incubation.Temperature}, Place: "cabinet", Noise: 0.03},
					{Probe: sensors.Probe{ID: "out", Has: incubation.Temperature}, Place: "room", Noise: 0.03},
				},
				Faults: tt.faults,
			}, 11, t0)
			var l thermal.Learner
			var outside *float64
			for now := t0; now.Before(t0.Add(80 * time.Hour)); now = now.Add(20 * time.Second) {
				for _, o := range room.Sample(t.Context(), now) {
					c := float64(o.Reading.Celsius)
					switch {
					case o.Probe == "in":
						l.Add(thermal.Point{At: now, Celsius: c}, outside)
					case tt.room:
						outside = &c
					}
				}
			}
			c, ok := l.Curve()
			if !ok || (c.Seen == 0) != tt.cycles {
				t.Fatalf("learned %v: %+v", ok, c)
			}
			off := c.Tau.Minutes()/tt.tau - 1
			t.Logf("truly %.0f min, learned %.1f (%+.1f %%), sd %.0f %%, seen %d times, cycles %d",
				tt.tau, c.Tau.Minutes(), 100*off, 100*c.SD, c.Seen, c.Cycles)
			if math.Abs(off) > tt.within {
				t.Errorf("off by %.1f %%, more than %.0f", 100*off, 100*tt.within)
			}
		})
	}
}
