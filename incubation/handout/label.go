package handout

import (
	"time"

	"clutchd/incubation"
)

// Labels are what is printed onto sheets of one stock: boxes first, then
// slots.
type Labels struct {
	Look  Look
	Stock Stock
	// First is the position of the first label on the first sheet, from 1, for
	// a sheet that was begun before; 0: 1.
	First    int
	CutMarks bool
	// Right and Down shift everything, for a printer that draws its paper in
	// askew, mm.
	Right, Down float64
	Boxes       []Box
	Slots       []Slot
}

// A Box is the label of one clutch's eggs in one box.
type Box struct {
	Clutch string // "Clutch 12"
	Dam    string
	Eggs   []string // marks
	In     string   // the box, from the outside in
	Laid   incubation.Laying
	Plan
	Hatch Window
	URL   string // of the clutch's page, absolute; "": no code is printed
}

// A Plan is what the thermostat aims at, and what it is to aim at later.
type Plan struct {
	Setpoint *incubation.Celsius // nil: not known
	Steps    []Step              // to come, in order
}

// A Step of a plan: from a time on a setpoint, or in the words of the caller
// whatever else is to be done then.
type Step struct {
	At      time.Time
	Celsius *incubation.Celsius
	Says    string // used where Celsius is nil
}

// A Window is from when to when a hatch is likely; a zero time is not known.
type Window struct {
	Earliest, Latest time.Time
	// Overdue: the window has passed and nobody has seen a hatch.
	Overdue bool
}

// Known reports whether both ends are.
func (w Window) Known() bool { return !w.Earliest.IsZero() && !w.Latest.IsZero() }

// A Slot is the label of an enclosure or of another place in a rack: its code
// opens what lives there.
type Slot struct {
	Name string
	Rack string // may be empty
	URL  string // absolute; "": no code is printed
}
