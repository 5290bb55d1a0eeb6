package sysfs

import (
	"context"
	"path/filepath"
	"slices"
	"strings"

	"clutchd/incubation"
	"clutchd/sensors"
)

// iio is a climate chip under bus/iio.
type iio struct {
	folder string
	probe  sensors.Probe
}

var _ sensors.Sensor = (*iio)(nil)

// The starts of an IIO channel's file names.
const (
	iioTemp     = "in_temp"
	iioHumidity = "in_humidityrelative"
)

// findIIO lists the climate chips under bus/iio that have a temperature.
func findIIO(root string) []Found {
	var all []Found
	for _, link := range children(filepath.Join(root, "bus/iio/devices"), "iio:device") {
		// A platform device's name carries its place in the device tree.
		model, _, _ := strings.Cut(word(filepath.Join(link, "name")), "@")
		at, err := filepath.EvalSymlinks(link)
		if err != nil || !iioChip(model) || !hasChannel(link, iioTemp) {
			continue
		}
		d, ok := deviceAt(filepath.Dir(at))
		if !ok {
			continue
		}
		p := sensors.Probe{
			ID:       identify("iio", model, d.name),
			Model:    model,
			Source:   link,
			Interval: interval,
			Has:      incubation.Temperature,
		}
		if hasChannel(link, iioHumidity) {
			p.Has |= incubation.RelativeHumidity
		}
		all = append(all, Found{Bus: d.wires(p.ID), Sensor: &iio{folder: link, probe: p}})
	}
	return all
}

// iioChip tells a climate chip by its name; IIO also lists converters, clocks
// and motion sensors, some with a temperature of their own.
func iioChip(model string) bool {
	known := []string{
		"bme280", "bmp280", "bmp180", "bmp380", "bme680", "hts221", "htu21",
		"si7005", "si7020", "th06", "scd30", "scd40", "scd41", "scd4x", "am2315", "dht11",
		"dht22", "humidity_sensor", "tmp117", "tmp116", "tsys01", "tsys02d",
	}
	return slices.Contains(known, model) || strings.HasPrefix(model, "hdc")
}

func hasChannel(folder, channel string) bool {
	file := filepath.Join(folder, channel)
	return exists(file+"_input") || exists(file+"_raw") && exists(file+"_scale")
}

func (s *iio) Probe() sensors.Probe { return s.probe }

// Read gives all that the chip has, or a fault.
func (s *iio) Read(context.Context) (incubation.Reading, error) {
	milli, err := s.milli(iioTemp)
	if err != nil {
		return blame(s.probe, err)
	}
	r := incubation.Reading{
		Probe:   s.probe.ID,
		Has:     s.probe.Has,
		Celsius: incubation.Celsius(milli / 1000),
	}
	if s.probe.Has&incubation.RelativeHumidity != 0 {
		milli, err = s.milli(iioHumidity)
		if err != nil {
			return blame(s.probe, err)
		}
		r.Humidity = incubation.Humidity(milli / 100_000)
	}
	return sensors.Trust(s.probe, r)
}

// milli gives a channel in thousandths: as the driver made it, or
// (raw + offset) × scale, the offset being 0 where the driver has none.
func (s *iio) milli(channel string) (float64, error) {
	file := filepath.Join(s.folder, channel)
	if exists(file + "_input") {
		return number(file + "_input")
	}
	raw, err := number(file + "_raw")
	if err != nil {
		return 0, err
	}
	var offset float64
	if exists(file + "_offset") {
		if offset, err = number(file + "_offset"); err != nil {
			return 0, err
		}
	}
	scale, err := number(file + "_scale")
	if err != nil {
		return 0, err
	}
	if scale == 0 {
		return 0, fault(sensors.Unsupported, "%s_scale is 0", file)
	}
	return (raw + offset) * scale, nil
}
