package sensors

import (
	"fmt"
	"math"
)

// stands are values that devices give instead of a measurement, °C. A chip on
// a wire of ours says so by itself; a gateway or a cheap device passes the
// number on. −127, 127.94 and others out of range are refused anyway.
func stands(celsius float64) (c Cause, everywhere bool) {
	switch celsius {
	case 85: // DS18B20 after power-on: data sheet, "Configuration register", table of values
		return PowerOn, true
	case 125, -40, -45: // ends of common chips' ranges: all bits one, or zero (data sheets of DS18B20 and SHT3x)
		return OutOfRange, true
	case 0: // all bits zero: also a temperature that a room may have
		return DeadBus, false
	}
	return "", false
}

// insteadBy is how far such a value must be from what the probe said lately,
// K, to be no measurement. Judgement.
const insteadBy = 10

// instead gives the fault, nil where the value may be true: the probe was near
// it, or, for one that a room may have, nothing is known of where it was.
func instead(p Probe, celsius float64, before *hampel) *Fault {
	c, everywhere := stands(celsius)
	if c == "" {
		return nil
	}
	near, known := before.centre()
	if known && math.Abs(near-celsius) <= insteadBy || !known && !everywhere {
		return nil
	}
	return &Fault{Probe: p.ID, Cause: c, Err: fmt.Errorf("%g °C is what a device gives instead of a measurement", celsius)}
}
