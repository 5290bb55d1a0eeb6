// Package sysfs reads the sensors that the kernel drives: 1-wire
// thermometers (w1_therm), and climate chips under hwmon and IIO.
//
// It does not drive a chip itself (package i2c does; never let both have the
// same one), and it offers no temperature of a processor or disk. The kernel's
// files are milli-°C and milli-percent; readings are °C and a ratio. Formats
// are those of the kernel's Documentation/w1, hwmon and ABI/testing.
package sysfs

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// interval is how often the kernel's sensors are to be read.
const interval = 10 * time.Second

// A Found is a sensor and the wires it hangs on: "i2c-1", "w1_bus_master1", or
// a name of its own where it shares them with nobody.
type Found struct {
	Bus    string
	Sensor sensors.Sensor
}

// Discover finds the sensors below root, where sysfs is mounted ("/sys"),
// sorted by id. It asks the kernel only, never a chip, so it is quick and may
// be called again and again; a chip unplugged is not in the answer. An id
// follows the wires (1-wire number, or adapter and address): it is the same
// after a reboot that numbers hwmon and IIO otherwise.
func Discover(root string) []Found {
	all := slices.Concat(findW1(root), findHwmon(root), findIIO(root))
	slices.SortStableFunc(all, func(a, b Found) int {
		return strings.Compare(a.Sensor.Probe().ID, b.Sensor.Probe().ID)
	})
	return slices.CompactFunc(all, func(a, b Found) bool {
		return a.Sensor.Probe().ID == b.Sensor.Probe().ID
	})
}

// children lists the entries of a folder whose name starts with prefix.
func children(folder, prefix string) []string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil // this machine has no such bus
	}
	var found []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), prefix) {
			found = append(found, filepath.Join(folder, e.Name()))
		}
	}
	return found
}

// identify makes an id of lower case letters, digits and dashes.
func identify(parts ...string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, strings.Join(parts, "-"))
}

// blame gives err, a fault of a file or parser, as one of the probe.
func blame(p sensors.Probe, err error) (incubation.Reading, error) {
	f := &sensors.Fault{Probe: p.ID, Cause: sensors.CauseOf(err), Err: err}
	if own, ok := errors.AsType[*sensors.Fault](err); ok {
		f.Err = own.Err
	}
	return incubation.Reading{}, f
}

// fault gives a fault without a probe, which its parser does not know.
func fault(c sensors.Cause, format string, args ...any) *sensors.Fault {
	return &sensors.Fault{Cause: c, Err: fmt.Errorf(format, args...)}
}
