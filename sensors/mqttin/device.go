// Package mqttin turns what a device publishes over MQTT into readings or
// faults: a thermometer that speaks for itself, through a hub or directly.
//
// It only decodes: connections belong to daemon/mqtt, and whether a device
// has been silent for too long is judged by the monitor, by the device's own
// interval. Temperatures are °C inside, relative humidity a ratio 0 to 1; °F
// and percent are converted here. Payload paths are RFC 6901 JSON pointers.
package mqttin

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// TemperatureUnit is what a device's temperature is in; "" means Celsius.
type TemperatureUnit string

// The temperature units a device may use.
const (
	Celsius    TemperatureUnit = "C"
	Fahrenheit TemperatureUnit = "F"
)

// HumidityUnit is what a device's humidity is in; "" means Percent.
type HumidityUnit string

// The humidity units a device may use.
const (
	Percent HumidityUnit = "percent"
	Ratio   HumidityUnit = "ratio"
)

// A Device is one probe that speaks over MQTT. Several devices may share a
// topic: each finds its own values in the payload.
type Device struct {
	ProbeID string
	Topic   string // exact, no wildcards
	// Has says what it measures. Zero: temperature, and humidity where a
	// HumidityPointer is given.
	Has incubation.Quantity
	// Pointer finds the temperature, HumidityPointer the humidity; "" is the
	// whole payload. HumidityPointer counts only when Has or a non-empty
	// pointer says that there is a humidity.
	Pointer         string
	Unit            TemperatureUnit
	HumidityPointer string
	HumidityUnit    HumidityUnit
	// TimePointer finds the time of measuring, as RFC 3339 or seconds since
	// 1970; "": the payload does not tell.
	TimePointer string
	Interval    time.Duration // how often it is expected to speak
	Accuracy    float64       // the maker's figure for temperature, K; zero: unknown
}

// Measures gives what the device measures, its zero Has resolved.
func (d Device) Measures() incubation.Quantity {
	switch {
	case d.Has != 0:
		return d.Has
	case d.HumidityPointer != "":
		return incubation.Temperature | incubation.RelativeHumidity
	}
	return incubation.Temperature
}

// Probe describes the device as the bank knows it.
func (d Device) Probe() sensors.Probe {
	return sensors.Probe{
		ID: d.ProbeID, Model: "mqtt", Source: d.Topic, Has: d.Measures(),
		Interval: d.Interval, Accuracy: d.Accuracy,
	}
}

// Validate gives every reason why the device could never give a reading.
func (d Device) Validate() error {
	var errs []error
	refuse := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	if d.ProbeID == "" {
		refuse("no probe id")
	}
	if d.Topic == "" || strings.ContainsAny(d.Topic, "+#\x00") {
		refuse("topic %q: need one exact topic, without wildcards", d.Topic)
	}
	if d.Interval <= 0 {
		refuse("interval %s: need how often the device speaks", d.Interval)
	}
	switch d.Unit {
	case "", Celsius, Fahrenheit:
	default:
		refuse("unit %q: need %q or %q", d.Unit, Celsius, Fahrenheit)
	}
	switch d.HumidityUnit {
	case "", Percent, Ratio:
	default:
		refuse("humidity unit %q: need %q or %q", d.HumidityUnit, Percent, Ratio)
	}
	for _, p := range []string{d.Pointer, d.HumidityPointer, d.TimePointer} {
		if _, err := splitPointer(p); err != nil {
			errs = append(errs, err)
		}
	}
	both := incubation.Temperature | incubation.RelativeHumidity
	if d.Measures() == both && d.Pointer == d.HumidityPointer {
		refuse("pointer %q: temperature and humidity cannot be the same value", d.Pointer)
	}
	return errors.Join(errs...)
}
