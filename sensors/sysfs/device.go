package sysfs

import (
	"path/filepath"
	"regexp"
	"strings"
)

var adapter = regexp.MustCompile(`^i2c-[0-9]+$`)

// A device is what a hwmon or IIO entry belongs to, by where it hangs.
type device struct {
	name string // "1-0044" on an I2C adapter, else the platform's name
	bus  string // "i2c-1", "" where it hangs on none
}

// deviceAt resolves a path of sysfs to the device it stands for. Behind a
// multiplexer the first adapter on the way is the one whose wires are shared.
func deviceAt(path string) (device, bool) {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return device{}, false
	}
	d := device{name: filepath.Base(real)}
	for _, part := range strings.Split(real, "/") {
		if adapter.MatchString(part) {
			d.bus = part
			break
		}
	}
	return d, true
}

// wires gives the bus of the device, or one of its own named after id.
func (d device) wires(id string) string {
	if d.bus == "" {
		return id
	}
	return d.bus
}
