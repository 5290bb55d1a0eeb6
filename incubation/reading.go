// Package incubation is the trade: clutches, eggs, the places they lie in,
// and what their temperature record says about development, sex and hatch.
//
// It is pure: no clock, file, log, network or goroutine. Whoever calls it
// says what time it is and hands it readings; the same calls give the same
// answer.
//
// Temperatures are in °C, temperature differences in K, relative humidity a
// ratio from 0 to 1, times in UTC. Published numbers live in the species
// profile (package species), each with its source.
package incubation

import "time"

// Celsius is a temperature in °C, or, where a name says so, a difference in K.
type Celsius float64

// Humidity is relative humidity as a ratio, 0 dry to 1 saturated.
type Humidity float64

// Quantity is the set of quantities that a probe measures or a reading holds.
type Quantity uint8

// The quantities a probe may measure.
const (
	Temperature Quantity = 1 << iota
	RelativeHumidity
)

// A Reading is one believable value at one time from one probe.
type Reading struct {
	Probe    string
	Time     time.Time
	Has      Quantity // which of the following two are set
	Celsius  Celsius
	Humidity Humidity
	Quality  Quality
}

// An Untimed reading was taken before the clock could be trusted: it is known
// by the boot it was taken in and the time since that boot. Its Reading.Time
// is zero until Timed gives it one.
type Untimed struct {
	Boot    string        // the kernel's boot id
	Elapsed time.Duration // since that boot, sleep included
	Reading Reading
}

// Timed gives the reading its true time, once the time of the boot is known.
func (u Untimed) Timed(booted time.Time) Reading {
	r := u.Reading
	r.Time = booted.Add(u.Elapsed).UTC()
	return r
}
