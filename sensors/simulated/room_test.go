package simulated_test

import (
	"context"
	"math"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

var start = time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)

// still is a room of 21 °C without weather, with one cabinet at 31 °C (40 W,
// 1.25 W/K, time constant 6000 s) and one tub in it (time constant 1800 s).
func still() simulated.Spec {
	return simulated.Spec{
		Weather: simulated.Weather{Place: "room", Mean: 21},
		Cabinets: []simulated.Cabinet{{
			Place: "cabinet", Hysteresis: 0.4,
			Watts: 40, Losses: 1.25, Capacity: 7500,
			Settings: []simulated.Setting{{From: start, Celsius: 31}},
		}},
		Tubs: []simulated.Tub{{Place: "tub", In: "cabinet", Lag: 30 * time.Minute}},
		Probes: []simulated.Probe{
			{
				Probe: sensors.Probe{ID: "in-tub", Has: incubation.Temperature}, Place: "tub",
				Position: incubation.Substrate,
			},
			{
				Probe: sensors.Probe{ID: "in-cabinet", Has: incubation.Temperature},
				Place: "cabinet", Position: incubation.IncubatorAir,
			},
		},
	}
}

// live brings the room to a time after the start.
func live(r *simulated.Room, after time.Duration) {
	r.Sample(context.Background(), start.Add(after))
}

func celsius(t *testing.T, r *simulated.Room, place string) float64 {
	t.Helper()
	c, ok := r.Celsius(place)
	if !ok {
		t.Fatalf("there is no place %s", place)
	}
	return float64(c)
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.4f, want %.4f within %g", what, got, want, within)
	}
}

func TestSettlesWhereItIsSet(t *testing.T) {
	for _, row := range []struct {
		name       string
		hysteresis float64
		dial       float64
		within     float64 // of the middle: half the band and what one step overshoots
	}{
		{"an on/off thermostat swings within its band", 0.4, 0, 0.25},
		{"a proportional one holds still", 0, 0, 0.02},
		{"a dial that is 0.7 K off", 0.4, 0.7, 0.25},
	} {
		t.Run(row.name, func(t *testing.T) {
			spec := still()
			c := &spec.Cabinets[0]
			c.Hysteresis, c.DialError = row.hysteresis, row.dial
			c.Settings = append(c.Settings,
				simulated.Setting{From: start.Add(time.Hour), Celsius: 28})
			r := simulated.New(spec, 1, start)
			for hour := 6; hour < 30; hour++ {
				for minute := range 60 {
					live(r, time.Duration(hour)*time.Hour+time.Duration(minute)*time.Minute)
					near(t, "cabinet", celsius(t, r, "cabinet"), 28+row.dial, row.within)
				}
			}
		})
	}
}

func TestSwingIsNewsToNobodyInTheTub(t *testing.T) {
	r := simulated.New(still(), 1, start)
	lowTub, highTub, low, high := 99.0, 0.0, 99.0, 0.0
	for minute := 300; minute < 600; minute++ {
		live(r, time.Duration(minute)*time.Minute)
		tub, cabinet := celsius(t, r, "tub"), celsius(t, r, "cabinet")
		lowTub, highTub = min(lowTub, tub), max(highTub, tub)
		low, high = min(low, cabinet), max(high, cabinet)
	}
	if high-low < 0.35 || highTub-lowTub > (high-low)/4 {
		t.Errorf("cabinet swings %.2f K, tub %.2f K: want the thermostat's 0.4 and far less",
			high-low, highTub-lowTub)
	}
}

// cooling is the closed form for the chain without power: cabinet and tub
// start at c and b, the room stays at 21 °C, time constants 6000 s and 1800 s.
func cooling(c, b, seconds float64) (cabinet, tub float64) {
	const room, slow, fast = 21.0, 6000.0, 1800.0
	share := slow / (slow - fast) * (c - room)
	e1, e2 := math.Exp(-seconds/slow), math.Exp(-seconds/fast)
	return room + (c-room)*e1, room + share*e1 + (b-room-share)*e2
}

func TestCoolsAlongTheExponential(t *testing.T) {
	for _, interval := range []time.Duration{time.Second, 10 * time.Second, 5 * time.Minute} {
		spec := still()
		spec.Interval = interval
		spec.Faults = []simulated.Fault{{Kind: simulated.Tripped, From: start}}
		r := simulated.New(spec, 1, start)
		for _, after := range []time.Duration{10 * time.Minute, time.Hour, 5 * time.Hour} {
			live(r, after)
			cabinet, tub := cooling(31, 31, after.Seconds())
			near(t, interval.String()+" cabinet", celsius(t, r, "cabinet"), cabinet, 1e-9)
			near(t, interval.String()+" tub", celsius(t, r, "tub"), tub, 0.002)
		}
	}
}

func TestTubLagsItsCabinet(t *testing.T) {
	spec := still()
	spec.Faults = []simulated.Fault{{Kind: simulated.Tripped, From: start}}
	r := simulated.New(spec, 1, start)
	for minute := 1; minute < 240; minute++ {
		live(r, time.Duration(minute)*time.Minute)
		if tub, cabinet := celsius(t, r, "tub"), celsius(t, r, "cabinet"); tub <= cabinet {
			t.Fatalf("after %d min the cooling tub is at %.3f, its cabinet at %.3f",
				minute, tub, cabinet)
		}
	}
}

func TestStuckThermostatRunsAway(t *testing.T) {
	spec := still()
	spec.Cabinets[0].Hysteresis = 0
	stuck := start.Add(6 * time.Hour)
	spec.Faults = []simulated.Fault{{Kind: simulated.StuckOn, Subject: "cabinet", From: stuck}}
	r := simulated.New(spec, 1, start)
	live(r, 6*time.Hour)
	before := celsius(t, r, "cabinet")
	live(r, 6*time.Hour+20*time.Minute)
	// Towards the room and 40 W over 1.25 W/K above it: 53 °C.
	near(t, "after 20 min", celsius(t, r, "cabinet"), 53+(before-53)*math.Exp(-1200./6000), 1e-6)
	live(r, 7*time.Hour)
	if c := celsius(t, r, "cabinet"); c < 35 {
		t.Errorf("an hour after it stuck the cabinet is at %.2f °C, want over 35", c)
	}
}

func TestAnOpenDoorCoolsFaster(t *testing.T) {
	shut, open := still(), still()
	tripped := simulated.Fault{Kind: simulated.Tripped, From: start}
	shut.Faults = []simulated.Fault{tripped}
	open.Faults = []simulated.Fault{
		tripped,
		{Kind: simulated.Open, Subject: "cabinet", From: start, To: start.Add(5 * time.Minute)},
	}
	a, b := simulated.New(shut, 1, start), simulated.New(open, 1, start)
	live(a, 30*time.Minute)
	live(b, 5*time.Minute)
	// Six times the losses: five minutes open are thirty shut.
	near(t, "5 min open", celsius(t, b, "cabinet"), celsius(t, a, "cabinet"), 1e-9)
}

func TestShelvesDifferWithTheHeatThatFlows(t *testing.T) {
	spec := still()
	spec.Cabinets[0].Hysteresis = 0
	spec.Tubs[0].Shelf = 0.8
	spec.Cabinets[0].Settings[0].Celsius = 29 // eight kelvin above the room
	r := simulated.New(spec, 1, start)
	live(r, 12*time.Hour)
	near(t, "warm", celsius(t, r, "tub")-celsius(t, r, "cabinet"), 0.8, 0.01)
	r.Inject(simulated.Fault{Kind: simulated.Tripped, From: start.Add(12 * time.Hour)})
	live(r, 36*time.Hour)
	near(t, "cold", celsius(t, r, "tub")-celsius(t, r, "cabinet"), 0, 0.01)
}

func TestTheRoomFollowsDayAndWeather(t *testing.T) {
	spec := still()
	spec.Weather.Swing, spec.Weather.Peak = 2, 15
	r := simulated.New(spec, 1, start)
	for _, row := range []struct {
		hour int
		want float64
	}{{3, 19}, {9, 21}, {15, 23}, {27, 19}} {
		live(r, time.Duration(row.hour)*time.Hour)
		near(t, "room", celsius(t, r, "room"), row.want, 1e-9)
	}
	spec.Weather.Moods = 1.5
	r = simulated.New(spec, 1, start)
	low, high := 99.0, 0.0
	for day := 1; day < 90; day++ {
		live(r, time.Duration(day)*24*time.Hour)
		low, high = min(low, celsius(t, r, "room")), max(high, celsius(t, r, "room"))
	}
	if high-low < 1 || high-low > 6.1 {
		t.Errorf("the weather moves midnight by %.1f K in a season, want between 1 and 6", high-low)
	}
}

func TestALaterStartFindsTheSameWeather(t *testing.T) {
	spec := still()
	spec.Weather.Swing, spec.Weather.Moods = 2, 1
	spec.Weather.Drift, spec.Weather.From = 0.1, start
	a, b := simulated.New(spec, 1, start), simulated.New(spec, 1, start.Add(20*24*time.Hour))
	live(a, 21*24*time.Hour)
	live(b, 21*24*time.Hour)
	near(t, "room", celsius(t, b, "room"), celsius(t, a, "room"), 1e-9)
	near(t, "tub, settled by then", celsius(t, b, "tub"), celsius(t, a, "tub"), 0.2)
}

func TestEnclosuresAreWarmByDay(t *testing.T) {
	spec := still()
	spec.Enclosures = []simulated.Enclosure{{
		Place: "pen", DayRise: 8, NightRise: 2, Dawn: 7,
		Lag: 20 * time.Minute,
	}}
	r := simulated.New(spec, 1, start)
	for _, row := range []struct {
		hour int
		want float64
	}{{6, 23}, {17, 29}, {26, 23}} {
		live(r, time.Duration(row.hour)*time.Hour)
		near(t, "pen", celsius(t, r, "pen"), row.want, 0.01)
	}
}

func BenchmarkSeason(b *testing.B) {
	for b.Loop() {
		spec := still()
		spec.Weather.Moods = 1
		spec.Coarse = 10 * time.Minute
		for i := range 20 {
			p := spec.Probes[i%2]
			p.ID += string(rune('a' + i))
			spec.Probes = append(spec.Probes, p)
		}
		for i := range 20 {
			tub := spec.Tubs[0]
			tub.Place += string(rune('a' + i))
			spec.Tubs = append(spec.Tubs, tub)
		}
		r := simulated.New(spec, 1, start)
		for t := time.Duration(0); t < 110*24*time.Hour; t += 10 * time.Minute {
			live(r, t)
		}
	}
}

// A season may be looked at from its middle: what was moved before stands, and
// is as warm as it, where it was moved to.
func TestALaterStartFindsTubsWhereTheyWereMoved(t *testing.T) {
	spec := still()
	other := spec.Cabinets[0]
	other.Place, other.Settings = "other", []simulated.Setting{{From: start, Celsius: 28}}
	spec.Cabinets = append(spec.Cabinets, other)
	spec.Tubs[0].Moves = []simulated.Move{{From: start.Add(24 * time.Hour), In: "other"}}
	r := simulated.New(spec, 1, start.Add(48*time.Hour))
	near(t, "tub", celsius(t, r, "tub"), celsius(t, r, "other"), 0.01)
}
