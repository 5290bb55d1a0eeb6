package days_test

import (
	"context"
	"math"
	"slices"
	"sync"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A world is an invented room: what each of its probes reads.
type world struct {
	mu     sync.Mutex
	probes []sensors.Probe
	base   map[string]float64 // °C, by probe
}

func newWorld(base map[string]float64) *world {
	w := &world{base: map[string]float64{}}
	for _, id := range sorted(base) {
		w.plug(id, base[id])
	}
	return w
}

// plug puts a thermometer on the wire.
func (w *world) plug(id string, celsius float64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.base[id] = celsius
	w.probes = append(w.probes, sensors.Probe{
		ID: id, Model: "ds18b20", Source: "/sys/bus/w1/devices/" + id, Has: incubation.Temperature,
		Interval: 10 * time.Second, Accuracy: 0.5, Resolution: 0.0625,
	})
}

func (w *world) Probes() []sensors.Probe {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.probes)
}

func (w *world) Sample(_ context.Context, now time.Time) []sensors.Outcome {
	w.mu.Lock()
	defer w.mu.Unlock()
	var out []sensors.Outcome
	for i, p := range w.probes {
		c := w.base[p.ID] + 0.12*math.Sin(float64(now.Unix())/97+float64(i))
		c = math.Round(c/p.Resolution) * p.Resolution
		out = append(out, sensors.Outcome{Probe: p.ID, Time: now, Reading: incubation.Reading{
			Probe: p.ID, Time: now, Has: incubation.Temperature, Celsius: incubation.Celsius(c),
		}})
	}
	return out
}

// Contacts are none.
func (w *world) Contacts() []sensors.Contact { return nil }

func (w *world) SampleContacts(context.Context, time.Time) []sensors.ContactOutcome { return nil }

func (w *world) set(probe string, celsius float64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.base[probe] = celsius
}
