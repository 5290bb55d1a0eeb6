package incubation

import "time"

// PlaceKind says what a place is.
type PlaceKind string

// The kinds of place that limits and probes belong to.
const (
	Incubator PlaceKind = "incubator" // the heated cabinet that boxes stand in
	Box       PlaceKind = "box"       // the tub that holds eggs
	LayBox    PlaceKind = "lay-box"   // where a female lays
	Enclosure PlaceKind = "enclosure" // where an animal lives
	Room      PlaceKind = "room"
)

// A Place is an incubator, box, lay box, enclosure or the room.
type Place struct {
	ID   string
	Kind PlaceKind
	Name string
	// Stays says what this place stood in and when: a box in an incubator, a
	// lay box in an enclosure. In order, not overlapping; may be empty.
	Stays []Stay
	// Rack and Slot say where an enclosure stands in the round; Slot 0: nowhere.
	Rack string
	Slot int
	// Looks and Weights are of a box as a whole, in order.
	Looks   []Look
	Weights []Weight
}

// A Stay is a stretch of time that something spent in one place.
type Stay struct {
	Place string
	From  time.Time
	To    time.Time // zero: still there
}

// Covers reports whether the stay holds at t; its end does not.
func (s Stay) Covers(t time.Time) bool {
	return !t.Before(s.From) && (s.To.IsZero() || t.Before(s.To))
}

// At gives the place of the stay that covers t, or "" if none does.
func At(stays []Stay, t time.Time) string {
	for i := len(stays) - 1; i >= 0; i-- {
		if stays[i].Covers(t) {
			return stays[i].Place
		}
	}
	return ""
}

// Position says how near to the eggs a probe sits: it decides how far its
// value may be from theirs.
type Position string

// Positions, nearest first.
const (
	Substrate    Position = "substrate"     // in the substrate beside the eggs
	BoxAir       Position = "box-air"       // in the box, above the eggs
	IncubatorAir Position = "incubator-air" // in the incubator, outside the box
)

// Rank orders positions, 0 the nearest to the eggs; an unknown one is last.
func (p Position) Rank() int {
	switch p {
	case Substrate:
		return 0
	case BoxAir:
		return 1
	case IncubatorAir:
		return 2
	}
	return 3
}

// A Placement says that a probe sat in a place from a time to a time.
type Placement struct {
	Probe    string
	Stay     Stay
	Position Position
	// Accuracy is how far the probe may be off, K, two standard deviations;
	// zero: as its maker states, or unknown.
	Accuracy float64
	// Offset is added to the probe's raw temperature, K, once that is multiplied
	// by Gain; zero: it is not. Humidity corrects its raw humidity.
	Offset   float64
	Gain     float64
	Humidity Correction
	// Shelf names the box and the incubator it stands in, where Sources gives
	// a probe of the incubator for an egg in the box; else empty.
	Shelf string
}
