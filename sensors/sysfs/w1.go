package sysfs

import (
	"context"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"

	"clutchd/incubation"
	"clutchd/sensors"
)

// w1 is a 1-wire thermometer. A read makes the kernel convert: up to 0.75 s,
// for the DS18B20 at 12 bits.
type w1 struct {
	family byte
	file   string
	probe  sensors.Probe
	// step is the resolution that the last reading told, as float bits.
	step atomic.Uint64
}

var _ sensors.Sensor = (*w1)(nil)

// findW1 lists the thermometers that the masters' searches have found.
func findW1(root string) []Found {
	var all []Found
	for _, link := range children(filepath.Join(root, "bus/w1/devices"), "") {
		name := filepath.Base(link)
		family, model := w1Model(name)
		if model == "" {
			continue
		}
		s := &w1{family: family, file: filepath.Join(link, "w1_slave")}
		s.probe = sensors.Probe{
			ID:       identify("w1", name),
			Model:    model,
			Source:   s.file,
			Has:      incubation.Temperature,
			Interval: interval,
		}
		if model == "ds18b20" {
			s.probe.Accuracy = 0.5 // data sheet, −10 to 85 °C
		}
		all = append(all, Found{Bus: master(link), Sensor: s})
	}
	return all
}

// w1Model tells a thermometer by its family, the two digits before the dash.
func w1Model(name string) (family byte, model string) {
	digits, serial, _ := strings.Cut(name, "-")
	n, err := strconv.ParseUint(digits, 16, 8)
	if err != nil || len(serial) != 12 {
		return 0, ""
	}
	switch n {
	case 0x10:
		model = "ds18s20"
	case 0x22:
		model = "ds1822"
	case 0x28:
		model = "ds18b20"
	case 0x3b:
		model = "ds1825"
	case 0x42:
		model = "ds28ea00"
	}
	return byte(n), model
}

// master names the bus master that a device's link leads to.
func master(link string) string {
	at, err := filepath.EvalSymlinks(link)
	if name := filepath.Base(filepath.Dir(at)); err == nil && strings.HasPrefix(name, "w1_bus_") {
		return name
	}
	return "w1"
}

// Probe may be called while Read is under way.
func (s *w1) Probe() sensors.Probe {
	p := s.probe
	p.Resolution = math.Float64frombits(s.step.Load())
	return p
}

// Read has the chip convert and checks every byte of its answer.
func (s *w1) Read(context.Context) (incubation.Reading, error) {
	text, err := read(s.file)
	if err != nil {
		return blame(s.probe, err)
	}
	w, err := ParseW1(s.family, text)
	if err != nil {
		return blame(s.probe, err)
	}
	s.step.Store(math.Float64bits(w.Bytes.Resolution(s.family)))
	r := incubation.Reading{
		Probe:   s.probe.ID,
		Has:     incubation.Temperature,
		Celsius: w.Celsius(s.family),
	}
	return r, nil
}
