// Package i2c reads climate chips on an I2C bus, each as a sensors.Sensor, and
// finds out in a harmless way which of them are there.
//
// It does not rescue a call into the bus that never returns (the bank's
// watchdog does), never drives a chip that a kernel driver holds, and never
// uses a chip's heater, thermostat pin or alert limits.
//
// Temperatures are °C, accuracy and resolution K, humidity a ratio 0 to 1,
// addresses 7-bit. Formulas and check sums are from the makers' data sheets,
// named where they are used; the meaning of the kernel's error numbers is from
// its Documentation/i2c/fault-codes.rst.
package i2c

import (
	"fmt"
	"slices"
	"strings"

	"periph.io/x/conn/v3/i2c"

	"clutchd/sensors"
)

// Open gives the sensor for a chip of the named model at an address; address
// zero means the model's usual one. Nothing is sent to the chip: one that is
// not there gives Absent faults until it is. The bus's String is its name in
// the probe's id, "i2c-1-44-sht31".
//
// The error says that there is no such model, that it cannot be at that
// address, or that a kernel driver already reads the chip.
func Open(bus i2c.Bus, model string, addr uint16) (sensors.Sensor, error) {
	m, err := lookUp(model)
	if err != nil {
		return nil, err
	}
	if addr == 0 {
		addr = m.Addresses[0]
	}
	if !slices.Contains(m.Addresses, addr) {
		return nil, fmt.Errorf("open %s at 0x%02x: it can only be at %s",
			model, addr, hexList(m.Addresses))
	}
	if driver := claimed(bus, addr); driver != "" {
		return nil, fmt.Errorf("open %s at 0x%02x on %s: the kernel's %s driver reads this chip",
			model, addr, bus, driver)
	}
	return newChip(bus, m, addr), nil
}

// ID is the probe id of a chip: the bus's name, the address in two hexadecimal
// digits and the model.
func ID(busName, model string, addr uint16) string {
	return fmt.Sprintf("%s-%02x-%s", word(busName), addr, word(model))
}

// word keeps what a probe id may hold and turns the rest into dashes.
func word(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(s))
}

func lookUp(name string) (Model, error) {
	all := Models()
	names := make([]string, len(all))
	for i, m := range all {
		if m.Name == name {
			return m, nil
		}
		names[i] = m.Name
	}
	return Model{}, fmt.Errorf("open chip %q: no such model, there are %s",
		name, strings.Join(names, ", "))
}

func hexList(addrs []uint16) string {
	words := make([]string, len(addrs))
	for i, a := range addrs {
		words[i] = fmt.Sprintf("0x%02x", a)
	}
	return strings.Join(words, ", ")
}

// A claimer is a bus that knows which addresses the kernel's own drivers hold.
type claimer interface {
	Claimed(addr uint16) (driver string)
}

func claimed(bus i2c.Bus, addr uint16) string {
	if c, ok := bus.(claimer); ok {
		return c.Claimed(addr)
	}
	return ""
}
