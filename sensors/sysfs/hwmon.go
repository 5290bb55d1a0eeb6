package sysfs

import (
	"context"
	"path/filepath"
	"strings"

	"clutchd/incubation"
	"clutchd/sensors"
)

// The step of chips whose formula or register is known: SHT3x and SHT4x spread
// 175 K over 65535 counts (data sheets); the others count sixteenths.
const (
	shtStep   = 175.0 / 65535
	sixteenth = 1.0 / 16
)

// hwmon is a climate chip under class/hwmon: one temperature, perhaps one
// humidity, both in thousandths.
type hwmon struct {
	folder string
	probe  sensors.Probe
}

var _ sensors.Sensor = (*hwmon)(nil)

// findHwmon lists the climate chips under class/hwmon. One without a device
// link is left out: nothing but its number, which changes, would name it.
func findHwmon(root string) []Found {
	var all []Found
	for _, link := range children(filepath.Join(root, "class/hwmon"), "hwmon") {
		p, climate := hwmonChip(word(filepath.Join(link, "name")))
		d, ok := deviceAt(filepath.Join(link, "device"))
		if !climate || !ok || !exists(filepath.Join(link, "temp1_input")) {
			continue
		}
		p.ID = identify("hwmon", p.Model, d.name)
		p.Source = link
		p.Interval = interval
		p.Has = incubation.Temperature
		if exists(filepath.Join(link, "humidity1_input")) {
			p.Has |= incubation.RelativeHumidity
		}
		all = append(all, Found{Bus: d.wires(p.ID), Sensor: &hwmon{folder: link, probe: p}})
	}
	return all
}

// hwmonChip tells a climate chip by the name its driver gives it. Accuracy is
// the makers' figure for the range an incubator works in.
func hwmonChip(name string) (p sensors.Probe, climate bool) {
	p.Model = name
	switch name {
	case "sht3x", "sht4x":
		p.Accuracy, p.Resolution = 0.2, shtStep
	case "tmp102", "tmp105", "tmp112", "jc42":
		p.Resolution = sixteenth
	case "sts3x", "shtc1", "shtw1", "shtc3", "sht15", "sht21", "aht10", "aht20", "dht20",
		"chipcap2", "htu31", "hih6130", "lm73", "adt7410", "adt7420":
	default:
		return p, climateFamily(name)
	}
	return p, true
}

// climateFamily covers families with many members: board thermometers that
// speak the LM75's registers, and the hdc chips.
func climateFamily(name string) bool {
	for _, start := range []string{
		"lm75", "tmp75", "tmp100", "tmp101", "tmp175", "tmp275",
		"tmp1075", "mcp980", "ds75", "ds1775", "ds7505", "at30ts7", "stds75", "pct2075", "hdc",
	} {
		if strings.HasPrefix(name, start) {
			return true
		}
	}
	return false
}

func (s *hwmon) Probe() sensors.Probe { return s.probe }

// Read gives all that the chip has, or a fault: half a reading would hide
// what is wrong with the other half.
func (s *hwmon) Read(context.Context) (incubation.Reading, error) {
	milli, err := number(filepath.Join(s.folder, "temp1_input"))
	if err != nil {
		return blame(s.probe, err)
	}
	r := incubation.Reading{
		Probe:   s.probe.ID,
		Has:     s.probe.Has,
		Celsius: incubation.Celsius(milli / 1000),
	}
	if s.probe.Has&incubation.RelativeHumidity != 0 {
		milli, err = number(filepath.Join(s.folder, "humidity1_input"))
		if err != nil {
			return blame(s.probe, err)
		}
		r.Humidity = s.ratio(milli)
	}
	return sensors.Trust(s.probe, r)
}

// ratio turns milli-percent into a ratio. The SHT4x's formula starts at −6 %,
// and its data sheet has what lies below 0 cropped; a driver need not do so.
func (s *hwmon) ratio(milli float64) incubation.Humidity {
	if s.probe.Model == "sht4x" && milli >= -6000 {
		milli = max(milli, 0)
	}
	return incubation.Humidity(milli / 100_000)
}
