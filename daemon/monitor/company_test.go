package monitor_test

import (
	"context"
	"flag"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

var companyDays = flag.Int("company-days", 8, "for how many days TestHealthyCompany watches a healthy room")

// bent is a simulated room whose readings are changed on their way; one that is
// left without a probe never arrives.
type bent struct {
	room *simulated.Room
	bend func(*sensors.Outcome)
}

func (b bent) Probes() []sensors.Probe { return b.room.Probes() }

func (b bent) Sample(ctx context.Context, now time.Time) []sensors.Outcome {
	out := b.room.Sample(ctx, now)
	for i := range out {
		if out[i].Fault == nil && b.bend != nil {
			b.bend(&out[i])
		}
	}
	return slices.DeleteFunc(out, func(o sensors.Outcome) bool { return o.Probe == "" })
}

// sharedCabinet is an incubator with a thermostat that swings by half a kelvin, in a
// room whose weather changes, and three boxes on shelves of their own.
func sharedCabinet(start time.Time) simulated.Spec {
	chip := func(id, place string, at incubation.Position, noise, resolution float64) simulated.Probe {
		return simulated.Probe{
			Probe: sensors.Probe{ID: id, Has: incubation.Temperature, Resolution: resolution, Accuracy: 0.5},
			Place: place, Position: at, Noise: noise, Bias: float64(len(place)) / 20,
		}
	}
	return simulated.Spec{
		Interval: time.Minute,
		Weather:  simulated.Weather{Place: "room", Mean: 21, Swing: 1.5, Peak: 14, Moods: 1.5, Drift: 0.05, From: start},
		Cabinets: []simulated.Cabinet{{
			Place: "inc", Hysteresis: 0.5, Watts: 40, Losses: 1.25, Capacity: 7500,
			Settings: []simulated.Setting{
				{From: start, Celsius: 28},
				{From: start.Add(20 * 24 * time.Hour), Celsius: 31},
				{From: start.Add(40 * 24 * time.Hour), Celsius: 29},
			},
		}},
		Tubs: []simulated.Tub{
			{Place: "a", In: "inc", Lag: 35 * time.Minute, Shelf: -0.8},
			{Place: "b", In: "inc", Lag: 45 * time.Minute, Shelf: 0.2},
			{Place: "c", In: "inc", Lag: 25 * time.Minute, Shelf: 0.6},
		},
		Probes: []simulated.Probe{
			chip("air", "inc", incubation.IncubatorAir, 0.03, 0.0625),
			chip("pa", "a", incubation.Substrate, 0.03, 0.0625),
			chip("pb", "b", incubation.Substrate, 0.01, 0.01),
			chip("pc", "c", incubation.Substrate, 0.02, 0.1),
		},
	}
}

// company lives through days of a room, and gives what was told of its probes
// with how long after from.
func company(t *testing.T, days int, from time.Duration, spoil func(start time.Time, spec *simulated.Spec) func(*sensors.Outcome)) []string {
	t.Helper()
	var told []string
	synctest.Test(t, func(t *testing.T) {
		start := time.Now().UTC()
		spec := sharedCabinet(start)
		bend := spoil(start, &spec)
		room := simulated.New(spec, 7, start)
		r := newRoomOf(t, newMemory(), func(o *monitor.Options) { o.Sampler = bent{room, bend} })
		r.Tick(t.Context(), r.instant())
		r.enter(book.KindPlace, book.PlaceData{Place: "inc", Kind: incubation.Incubator, Name: "Incubator"})
		for _, box := range []string{"a", "b", "c"} {
			r.enter(book.KindPlace, book.PlaceData{Place: box, Kind: incubation.Box, Name: "Box " + box})
			r.enter(book.KindStand, book.StandData{Place: box, In: "inc"})
			r.enter(book.KindProbe, book.ProbeData{Probe: "p" + box, Place: box, Position: incubation.Substrate})
		}
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc"})
		setting, heard := 0, 0
		for at := start; at.Before(start.Add(time.Duration(days) * 24 * time.Hour)); at = time.Now().UTC() {
			if s := spec.Cabinets[0].Settings; setting < len(s) && !at.Before(s[setting].From) {
				r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: incubation.Celsius(s[setting].Celsius)})
				setting++
			}
			r.Tick(t.Context(), r.instant())
			for _, said := range r.post.said()[heard:] {
				heard++
				if f := strings.Fields(said); strings.HasPrefix(f[1], "prob") || f[1] == "frozen" {
					told = append(told, said+" after "+at.Sub(start.Add(from)).Truncate(time.Hour).String())
				}
			}
			time.Sleep(5 * time.Minute)
		}
	})
	return told
}

// A healthy room is told nothing of its probes: through weather, two changes of
// the setpoint and shelves that differ by more than a kelvin.
func TestHealthyCompany(t *testing.T) {
	arithmetic(t)
	told := company(t, *companyDays, 0, func(time.Time, *simulated.Spec) func(*sensors.Outcome) { return nil })
	if len(told) > 0 {
		t.Errorf("%d days of a healthy room: %q", *companyDays, told)
	}
}

// Where the thermostat does not swing, a door that is opened every evening is all
// that does. The air's probe, which speaks every five minutes, sees a part of it,
// and the boxes live it down for hours, longer when their lids come off: no probe
// lies outside for that.
func TestDoorsAreNoSwing(t *testing.T) {
	if underRace {
		t.Skip("much arithmetic on one goroutine: left to the plain and the 32-bit run")
	}
	const days = 11
	told := company(t, days, 0, func(start time.Time, spec *simulated.Spec) func(*sensors.Outcome) {
		spec.Cabinets[0].Hysteresis, spec.Cabinets[0].Watts = 0, 60
		for i := range spec.Probes {
			spec.Probes[i].Resolution, spec.Probes[i].Noise = 0.01, 0.01
		}
		mishap := func(kind simulated.FaultKind, about string, from time.Time, minutes int) {
			spec.Faults = append(spec.Faults, simulated.Fault{
				Kind: kind, Subject: about, Size: 8, From: from, To: from.Add(time.Duration(minutes) * time.Minute),
			})
		}
		for d := range days {
			from := start.Add(time.Duration(24*d+19)*time.Hour + time.Duration(d*7%10)*time.Minute)
			mishap(simulated.Open, "inc", from, 2+d%3)
			if d >= days-2 {
				mishap(simulated.Lidless, "c", from, 4)
			}
		}
		return func(o *sensors.Outcome) {
			if o.Probe == "air" && o.Time.Minute()%5 != 0 {
				o.Probe = ""
			}
		}
	})
	if len(told) > 0 {
		t.Errorf("%d days of a healthy room with a door: %q", days, told)
	}
}

// What is found of a probe that goes wrong after four days, and when.
func TestSickCompany(t *testing.T) {
	arithmetic(t)
	const from = 4 * 24 * time.Hour
	bend := func(f func(o *sensors.Outcome, since time.Duration)) func(time.Time, *simulated.Spec) func(*sensors.Outcome) {
		return func(start time.Time, _ *simulated.Spec) func(*sensors.Outcome) {
			return func(o *sensors.Outcome) {
				if since := o.Time.Sub(start.Add(from)); since > 0 {
					f(o, since)
				}
			}
		}
	}
	last := map[string]incubation.Celsius{}
	for _, row := range []struct {
		why   string
		spoil func(time.Time, *simulated.Spec) func(*sensors.Outcome)
		want  string
		days  int
	}{
		{
			"a box's probe drifts by 0.1 K a day",
			bend(func(o *sensors.Outcome, since time.Duration) {
				if o.Probe == "pb" {
					o.Reading.Celsius += incubation.Celsius(0.1 * since.Hours() / 24)
				}
			}), "raised probe-drift pb", 12,
		},
		{
			"a probe falls out of its box into the incubator",
			func(start time.Time, spec *simulated.Spec) func(*sensors.Outcome) {
				spec.Faults = []simulated.Fault{{Kind: simulated.Slipped, Subject: "pb", From: start.Add(from)}}
				return nil
			}, "raised probe-slipped pb", 5,
		},
		{
			"two probes are exchanged",
			bend(func(o *sensors.Outcome, _ time.Duration) {
				switch o.Probe {
				case "pa":
					o.Probe = "pc"
				case "pc":
					o.Probe = "pa"
				}
			}), "raised probes-swapped pa", 5,
		},
		{
			"a probe freezes",
			bend(func(o *sensors.Outcome, _ time.Duration) {
				if o.Probe != "pa" {
					return
				}
				if _, ok := last["pa"]; !ok {
					last["pa"] = o.Reading.Celsius
				}
				o.Reading.Celsius = last["pa"]
			}), "raised frozen pa", 5,
		},
	} {
		told := company(t, row.days, from, row.spoil)
		if len(told) == 0 || !strings.HasPrefix(told[0], row.want) {
			t.Errorf("%s: %q", row.why, told)
			continue
		}
		t.Logf("%s: %s", row.why, told)
	}
}
