package review

import (
	"time"

	"clutchd/incubation"
)

// A Record is what eggs that always lay together lay at.
type Record struct {
	Eggs []string  `json:"eggs"` // ids
	From time.Time `json:"from"` // the earliest laying
	To   time.Time `json:"to"`   // the end of the longest lived, or now

	Stays  []Stay  `json:"stays"`
	Probes []Probe `json:"probes"`

	// Points are the record thinned to even columns, extremes kept; a column in
	// which nothing was read is left out. Each stands for PointSeconds from its
	// time on. What is read of a nearer probe counts, a farther one's only while
	// no nearer one speaks.
	PointSeconds float64 `json:"point_seconds"`
	Points       []Point `json:"points"`
	// Lowest, Mean and Highest are over all readings that count, Mean by their
	// number; nil: there is none.
	Lowest   *incubation.Celsius `json:"lowest_celsius,omitempty"`
	Mean     *incubation.Celsius `json:"mean_celsius,omitempty"`
	Highest  *incubation.Celsius `json:"highest_celsius,omitempty"`
	Readings int                 `json:"readings"` // that count
	// Doubtful is how long nothing but readings that are no measurement of the
	// place any more spoke for the eggs; they count there.
	Doubtful float64 `json:"doubtful_seconds"`
	Damaged  int     `json:"damaged"` // stored stretches that could not be read

	Setpoints []Setpoint `json:"setpoints"` // what the thermostat aimed at, step by step
	Limits    []Limit    `json:"limits"`    // in force, stretch by stretch
	Gaps      []Gap      `json:"gaps"`
	// Excursions are stretches outside a limit, in order.
	Excursions []Excursion `json:"excursions"`

	BoxWeights []BoxWeight `json:"box_weights"`
	BoxLooks   []BoxLook   `json:"box_looks"`
}

// A Stay is a stretch of time in one box that stood in one incubator, or in
// what else a lay box stands in.
type Stay struct {
	Box           string `json:"box"` // id of the box, or of where it was laid
	BoxName       string `json:"box_name"`
	Incubator     string `json:"incubator,omitempty"`
	IncubatorName string `json:"incubator_name,omitempty"`
	// Cabinet: it is one; a lay box stands in an enclosure or in nothing.
	Cabinet bool      `json:"cabinet"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to,omitzero"` // absent: still there
}

// A Probe is a stretch of time that one probe lay beside the eggs, in one place
// under one correction.
type Probe struct {
	Probe    string              `json:"probe"`
	Place    string              `json:"place"` // id of where it sat
	Position incubation.Position `json:"position"`
	From     time.Time           `json:"from"`
	To       time.Time           `json:"to,omitzero"` // absent: still there
	// Counted are the parts of it in which no nearer probe spoke: what it read
	// then is the eggs' record.
	Counted []Span `json:"counted"`
	// Calibrated says that it had been compared with something true by then;
	// AccuracyKelvin is how far it may be off, two standard deviations, 0: not
	// stated; OffsetKelvin and Gain (0: 1) correct what it reads.
	Calibrated     bool    `json:"calibrated"`
	AccuracyKelvin float64 `json:"accuracy_kelvin"`
	OffsetKelvin   float64 `json:"offset_kelvin"`
	Gain           float64 `json:"gain,omitzero"`
	// The same for its humidity, a ratio.
	HumidityOffset float64 `json:"humidity_offset_ratio,omitzero"`
	HumidityGain   float64 `json:"humidity_gain,omitzero"`
	// Points are its own readings, corrected, in the record's columns; only
	// where they were asked for.
	Points []Point `json:"points,omitempty"`
}

// CountedSeconds is how long the probe's readings were the eggs' record.
func (p Probe) CountedSeconds() float64 {
	sum := 0.0
	for _, s := range p.Counted {
		sum += s.To.Sub(s.From).Seconds()
	}
	return sum
}

// A Span is a stretch of time.
type Span struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// A Setpoint is what a thermostat aimed at from a time on.
type Setpoint struct {
	From    time.Time          `json:"from"`
	Celsius incubation.Celsius `json:"celsius"`
}

// A Gap is a stretch without readings.
type Gap struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Seconds float64   `json:"seconds"`
}

// Source says whose a limit is.
type Source string

// The sources of a limit.
const (
	Own   Source = "place" // the place's own, as the book had it then
	Start Source = "start" // what the rule starts with
)

// A Limit is the value beyond which a rule began to count, while it held.
type Limit struct {
	Rule    string             `json:"rule"` // its code
	Title   string             `json:"title"`
	High    bool               `json:"high"` // an upper limit
	Celsius incubation.Celsius `json:"celsius"`
	Source  Source             `json:"source"`
	From    time.Time          `json:"from"`
	To      time.Time          `json:"to"`
}

// An Excursion is a stretch outside a limit: from the first reading beyond it
// to the first that is back inside by the rule's deadband, or to the last before
// a gap. A value at an upper limit lies beyond it, one at a lower does not.
// Limits that were crossed one within the other are one excursion.
type Excursion struct {
	From    time.Time          `json:"from"`
	To      time.Time          `json:"to"`
	Seconds float64            `json:"seconds"`
	High    bool               `json:"high"`
	Worst   incubation.Celsius `json:"worst_celsius"`
	// Limits are those crossed, the nearest to the setpoint first.
	Limits []Crossed `json:"limits"`
	// Brief: shorter than the on-delay of every rule crossed, so no alert.
	Brief bool `json:"brief"`
	// Settling: it began while the box was settling, just placed or its
	// thermostat just set, when such a rule waits.
	Settling bool `json:"settling"`
}

// Crossed is one limit of an excursion.
type Crossed struct {
	Rule    string             `json:"rule"`
	Title   string             `json:"title"`
	Celsius incubation.Celsius `json:"celsius"`
	Source  Source             `json:"source"`
	Seconds float64            `json:"seconds"` // beyond this one
}

// A BoxWeight is a weighing of the box with what was in it.
type BoxWeight struct {
	Box string `json:"box"`
	Weight
}

// A BoxLook is what was seen of the box.
type BoxLook struct {
	Box string `json:"box"`
	Look
}
