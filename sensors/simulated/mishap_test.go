package simulated_test

import (
	"testing"
	"time"

	"clutchd/sensors/simulated"
)

// calm is the still room with a proportional thermostat and two tubs, one of
// which lies half a kelvin warmer.
func calm(faults ...simulated.Fault) simulated.Spec {
	spec := still()
	spec.Cabinets[0].Hysteresis = 0
	spec.Tubs = append(spec.Tubs, simulated.Tub{
		Place: "upper", In: "cabinet", Shelf: 0.5, Lag: 30 * time.Minute,
	})
	spec.Faults = faults
	return spec
}

func TestFaultsThatHaveASize(t *testing.T) {
	at := start.Add(12 * time.Hour)
	fault := func(kind simulated.FaultKind, subject string, size float64) simulated.Fault {
		return simulated.Fault{Kind: kind, Subject: subject, From: at, Size: size}
	}
	for _, row := range []struct {
		about string
		fault simulated.Fault
		after time.Duration // of its beginning
		place string
		want  float64
	}{
		// The thermostat holds 31 °C in a room of 21 °C; a shelf of 0.5 K at 8 K is 0.625 K at 10 K.
		{"a dial that drifts by 0.1 K a day is 0.5 K off after five", fault(simulated.Drifting, "cabinet", 0.1), 120 * time.Hour, "cabinet", 31.5},
		{"a dial that is bumped", fault(simulated.Bumped, "cabinet", 1), 12 * time.Hour, "cabinet", 32},
		{"a heater of 20 % of 40 W holds 8 W / 1.25 W/K over the room", fault(simulated.Weak, "cabinet", 0.2), 48 * time.Hour, "cabinet", 27.4},
		{"without its fan a shelf differs three times as much", fault(simulated.Stirless, "cabinet", 3), 12 * time.Hour, "upper", 32.875},
		{"a tub that is taken out comes to the room's temperature", fault(simulated.Out, "upper", 0), 24 * time.Hour, "upper", 21},
		{"a heat wave is half there after three of its six hours", fault(simulated.Heatwave, "room", 8), 3 * time.Hour, "room", 25},
		{"and all of it after six", fault(simulated.Heatwave, "room", 8), 10 * time.Hour, "room", 29},
	} {
		r := simulated.New(calm(row.fault), 1, start)
		live(r, 12*time.Hour+row.after)
		near(t, row.about, celsius(t, r, row.place), row.want, 0.02)
	}
}

func TestALidThatIsOffQuickensATub(t *testing.T) {
	tripped := simulated.Fault{Kind: simulated.Tripped, From: start}
	shut := simulated.New(calm(tripped), 1, start)
	open := simulated.New(calm(tripped, simulated.Fault{
		Kind: simulated.Lidless, Subject: "upper", From: start, Size: 6,
	}), 1, start)
	live(shut, time.Hour)
	live(open, time.Hour)
	if a, b := celsius(t, shut, "upper"), celsius(t, open, "upper"); a-b < 1 {
		t.Errorf("an hour into the cold: %.2f with the lid, %.2f without", a, b)
	}
}

func TestAMovedTubFollowsItsNewPlace(t *testing.T) {
	spec := calm()
	spec.Tubs[1].Moves = []simulated.Move{{From: start.Add(time.Hour), In: "room"}}
	if err := spec.Check(); err != nil {
		t.Fatal(err)
	}
	r := simulated.New(spec, 1, start)
	live(r, time.Hour)
	near(t, "before", celsius(t, r, "upper"), 31.6, 0.1)
	live(r, 25*time.Hour)
	near(t, "a day later", celsius(t, r, "upper"), 21, 0.01)
	spec.Tubs[1].Moves[0].In = "shed"
	if spec.Check() == nil {
		t.Error("a move to nowhere passes")
	}
}

func TestAFeelerThatLagsSwingsWider(t *testing.T) {
	swing := func(lag time.Duration) float64 {
		spec := still()
		spec.Cabinets[0].Feeler = lag
		r := simulated.New(spec, 1, start)
		low, high := 99.0, 0.0
		for minute := 300; minute < 600; minute++ {
			live(r, time.Duration(minute)*time.Minute)
			low, high = min(low, celsius(t, r, "cabinet")), max(high, celsius(t, r, "cabinet"))
		}
		return high - low
	}
	if at, behind := swing(0), swing(3*time.Minute); behind < at+0.5 {
		t.Errorf("the cabinet swings %.2f K, with a feeler three minutes behind %.2f K", at, behind)
	}
}

func TestTheYearMovesTheRoom(t *testing.T) {
	spec := calm()
	spec.Weather.Season = 3
	r := simulated.New(spec, 1, start)
	for _, row := range []struct {
		days int
		want float64
	}{{91, 24}, {274, 18}} {
		live(r, time.Duration(row.days)*24*time.Hour)
		near(t, "room", celsius(t, r, "room"), row.want, 0.02)
	}
}
