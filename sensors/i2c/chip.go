package i2c

import (
	"context"
	"errors"
	"fmt"
	"math"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"

	"clutchd/incubation"
	"clutchd/sensors"
)

// failuresToRebuild is after how many failed Reads in a row a chip is made
// ready anew: it may have lost its settings in a dip of the supply.
const failuresToRebuild = 3

// A chip is one chip as a sensor. It is made ready by the first Read, and
// again when it has failed too often.
type chip struct {
	model    Model
	probe    sensors.Probe
	wire     wire
	ready    measurer // nil: to be made ready
	failures int      // in a row
}

func newChip(bus i2c.Bus, m Model, addr uint16) *chip {
	return &chip{
		model: m,
		probe: sensors.Probe{
			ID:         ID(bus.String(), m.Name, addr),
			Model:      m.Name,
			Source:     fmt.Sprintf("%s 0x%02x", bus, addr),
			Has:        m.Has,
			Interval:   m.Interval,
			Accuracy:   m.Accuracy,
			Resolution: m.Resolution,
		},
		wire: wire{bus: bus, addr: addr},
	}
}

// Probe says what the chip is and can do.
func (c *chip) Probe() sensors.Probe { return c.probe }

// Read takes one measurement. Making the chip ready first can take two
// seconds (hdc302x).
func (c *chip) Read(ctx context.Context) (incubation.Reading, error) {
	c.wire.begin(ctx)
	v, err := c.measure()
	var r incubation.Reading
	if err == nil {
		r, err = c.model.believe(v)
	}
	if err != nil {
		c.failed()
		return incubation.Reading{}, c.fault(err)
	}
	c.failures = 0
	r.Probe = c.probe.ID
	return r, nil
}

// measure prefers the wire's error: the drivers hide theirs.
func (c *chip) measure() (value, error) {
	v, err := c.buildAndMeasure()
	if c.wire.broken != nil {
		return value{}, c.wire.broken
	}
	return v, err
}

func (c *chip) buildAndMeasure() (value, error) {
	if c.ready == nil {
		ready, err := c.model.build(&c.wire)
		if err != nil || c.wire.broken != nil {
			return value{}, err
		}
		c.ready = ready
	}
	return c.ready.measure()
}

func (c *chip) failed() {
	c.failures++
	if c.failures >= failuresToRebuild {
		c.ready, c.failures = nil, 0
	}
}

// fault names the probe; an error without a cause is IO.
func (c *chip) fault(err error) error {
	f, ok := errors.AsType[*sensors.Fault](err)
	if !ok {
		f = &sensors.Fault{Cause: sensors.IO, Err: err}
	}
	return &sensors.Fault{Probe: c.probe.ID, Cause: f.Cause, Err: f.Err}
}

// believe turns a value into a reading if the chip can measure such a thing.
func (m Model) believe(v value) (incubation.Reading, error) {
	t := incubation.Celsius(v.celsius)
	if !(t >= m.Low && t <= m.High) { // NaN is neither
		return incubation.Reading{}, faultf(sensors.OutOfRange,
			"%.2f °C, the %s measures %g to %g", v.celsius, m.Name, m.Low, m.High)
	}
	r := incubation.Reading{Has: m.Has, Celsius: t}
	if m.Has&incubation.RelativeHumidity == 0 {
		return r, nil
	}
	if math.IsNaN(v.humidity) || v.humidity < 0 || v.humidity > 1 {
		return incubation.Reading{}, faultf(sensors.OutOfRange, "humidity %.3f", v.humidity)
	}
	r.Humidity = incubation.Humidity(v.humidity)
	if v.humidity == 1 {
		r.Quality = incubation.Saturated
	}
	return r, nil
}

// fromEnv converts what a periph driver says: nano-kelvin, and humidity in
// steps of 0.00001 %.
func fromEnv(e physic.Env) value {
	return value{
		celsius:  e.Temperature.Celsius(),
		humidity: float64(e.Humidity) / float64(100*physic.PercentRH),
	}
}
