// Package sensors turns the world into readings or faults: a believable value
// at a time, or the named reason why there is none. Never a number for a
// failure.
//
// It judges single values only; what is worth waking someone for belongs to
// package alerts, which never meets this one. Temperatures are °C, accuracy
// and resolution K, relative humidity a ratio 0 to 1.
package sensors

import (
	"context"
	"time"

	"clutchd/incubation"
)

// A Probe is one sensing point: what it is called and what it can do.
type Probe struct {
	// ID is stable over restarts and reboots, for topics and the book: lower
	// case letters, digits and dashes, "w1-28-0316a2797cff".
	ID     string
	Model  string // "ds18b20", "sht31", "mqtt"
	Source string // where it is read, for the keeper: a path, bus and address, or topic
	// Through names the bus or broker that it shares with others and that can
	// take them all with it when it fails; "": none is known.
	Through  string
	Has      incubation.Quantity
	Interval time.Duration // how often a reading is expected
	// Accuracy is the maker's figure for temperature, K; zero: unknown.
	Accuracy float64
	// Resolution is the step of its temperature, K; zero: unknown.
	Resolution float64
}

// A Sensor is one chip or file that is read for one probe.
//
// Read takes one reading. It returns a *Fault, and no reading, when the world
// gave no believable value; it leaves Reading.Time zero, for the caller to
// stamp. It may block past ctx where a driver cannot be cancelled: the bank
// lives with that. Read is called from one goroutine at a time, and never
// while another sensor of the same bus is read.
type Sensor interface {
	Probe() Probe
	Read(ctx context.Context) (incubation.Reading, error)
}

// An Outcome is what one try at one probe gave: a Reading, or a Fault.
type Outcome struct {
	Probe   string
	Time    time.Time
	Reading incubation.Reading // valid when Fault is nil
	Fault   *Fault
}
