package daemon

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"clutchd/daemon/config"
	"clutchd/sensors"
	"clutchd/sensors/i2c"
	"clutchd/sensors/sysfs"
)

// lookAgain is how often probes that were plugged in meanwhile are looked for.
const lookAgain = time.Minute

// A Found is a sensor of this machine and the wires it hangs on.
type Found struct {
	Bus    string
	Sensor sensors.Sensor
}

// A Finder finds the sensors that a config names or allows. I2C buses are
// opened once and kept.
type Finder struct {
	cfg   config.Config
	buses map[string]*i2c.Bus
	asked map[string][]Found // what answered on an I2C bus without a list of chips
}

// NewFinder gives a finder that has opened nothing yet.
func NewFinder(cfg config.Config) *Finder {
	return &Finder{cfg: cfg, buses: map[string]*i2c.Bus{}, asked: map[string][]Found{}}
}

// Find gives the sensors that are there now, and sentences about what could
// not be used.
func (f *Finder) Find(ctx context.Context) (found []Found, notes []string) {
	for _, b := range f.cfg.Buses {
		more, remarks := f.bus(ctx, b)
		found, notes = append(found, more...), append(notes, remarks...)
	}
	if f.cfg.Kernel.Off {
		return found, notes
	}
	root := f.cfg.Kernel.Root
	if root == "" {
		root = "/sys"
	}
	for _, k := range sysfs.Discover(root) {
		found = append(found, Found{k.Bus, every(k.Sensor, f.cfg.Kernel.IntervalSeconds)})
	}
	return found, notes
}

// bus gives the chips of one I2C bus: those listed, or those that answer.
func (f *Finder) bus(ctx context.Context, b config.Bus) (found []Found, notes []string) {
	name := b.Bus
	if !strings.HasPrefix(name, "i2c-") {
		name = "i2c-" + name
	}
	bus := f.buses[name]
	if bus == nil {
		opened, err := i2c.OpenBus(name)
		if err != nil {
			return nil, []string{err.Error()}
		}
		bus, f.buses[name] = opened, opened
	}
	if len(b.Chips) == 0 {
		return f.ask(ctx, bus, name)
	}
	for _, c := range b.Chips {
		s, err := i2c.Open(bus, c.Model, c.Address)
		if err != nil {
			notes = append(notes, err.Error())
			continue
		}
		found = append(found, Found{name, every(s, c.IntervalSeconds)})
	}
	return found, notes
}

// ask finds out what is on a bus, until something is: chips that are being read
// must not be spoken to by a second asker.
func (f *Finder) ask(ctx context.Context, bus *i2c.Bus, name string) (found []Found, notes []string) {
	if found, ok := f.asked[name]; ok {
		return found, nil
	}
	for _, answer := range i2c.Discover(ctx, bus, name) {
		if len(answer.Models) != 1 {
			notes = append(notes, fmt.Sprintf("%s 0x%02x, may be %s: %s", name, answer.Addr,
				strings.Join(answer.Models, ", "), answer.Note))
			continue
		}
		s, err := i2c.Open(bus, answer.Models[0], answer.Addr)
		if err != nil {
			notes = append(notes, err.Error())
			continue
		}
		found = append(found, Found{name, s})
	}
	if len(found) > 0 {
		f.asked[name] = found
	}
	return found, notes
}

// Find gives the bank the machine's sensors, and those that come later, until
// ctx ends.
func Find(ctx context.Context, cfg config.Config, bank *sensors.Bank, log *slog.Logger) error {
	f := NewFinder(cfg)
	known, said := map[string]string{}, map[string]bool{}
	for {
		found, notes := f.Find(ctx)
		for _, s := range found {
			// A kernel chip that was gone may come back under another number,
			// with the same id.
			if p := s.Sensor.Probe(); known[p.ID] != p.Source {
				known[p.ID] = p.Source
				bank.Add(s.Bus, s.Sensor)
				log.Info("probe found", "probe", p.ID, "source", p.Source)
			}
		}
		for _, n := range notes {
			if !said[n] {
				said[n] = true
				log.Warn("probe not used", "why", n)
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(lookAgain):
		}
	}
}

// paced is a sensor that is read on an interval of the config's.
type paced struct {
	sensors.Sensor
	interval time.Duration
}

func every(s sensors.Sensor, seconds float64) sensors.Sensor {
	if seconds == 0 {
		return s
	}
	return paced{s, config.Seconds(seconds)}
}

// Probe is the sensor's, with the config's interval.
func (p paced) Probe() sensors.Probe {
	d := p.Sensor.Probe()
	d.Interval = p.interval
	return d
}
