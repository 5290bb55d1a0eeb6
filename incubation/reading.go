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

import (
	"fmt"
	"time"
)

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

// Quality says how far a reading is to be believed. Its zero value is Good.
// A value that is not believable at all is no reading: it is a fault.
type Quality uint8

// The qualities a reading may have. Values are stored: append, never reorder.
const (
	Good      Quality = iota
	Saturated         // humidity at or above 100 %: condensation, not a broken chip
	Suspect           // believable, but something argues against it: counts less
)

var qualityNames = [...]string{Good: "good", Saturated: "saturated", Suspect: "suspect"}

// String gives the word used in payloads and on pages.
func (q Quality) String() string {
	if int(q) < len(qualityNames) {
		return qualityNames[q]
	}
	return fmt.Sprintf("quality-%d", uint8(q))
}

// MarshalText gives the word of String.
func (q Quality) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText accepts the words that MarshalText writes.
func (q *Quality) UnmarshalText(text []byte) error {
	for i, name := range qualityNames {
		if name == string(text) {
			*q = Quality(i)
			return nil
		}
	}
	return fmt.Errorf("quality %q is not one of %q", text, qualityNames)
}

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
