package incubation

import "time"

// A Clutch is the eggs of one female from one laying, two as a rule.
type Clutch struct {
	ID     string
	Female string
	Laid   Laying
	Eggs   []*Egg // in the order of their marks
}

// A Laying is day 0: some time between the last look that found nothing and
// the look that found the eggs. From equal to To: seen being laid.
type Laying struct {
	From, To time.Time
	Place    string // where they were laid; may be empty
}

// EggState says how an egg stands.
type EggState string

// The states of an egg.
const (
	Incubating EggState = "incubating"
	Pipped     EggState = "pipped"
	Hatched    EggState = "hatched"
	Failed     EggState = "failed"
)

// An Egg is the unit that lies somewhere, develops, hatches or fails.
type Egg struct {
	ID     string
	Clutch string
	Mark   string // A, B, …: what is written on the shell
	State  EggState
	Stays  []Stay // where it lay, the lay box included; in order
	// AliveAt is the latest time the book says the egg was alive and not
	// hatched: set by laying, placing, candling "alive" and pipping.
	AliveAt time.Time
	Ended   time.Time // hatched or failed; zero while it lives
	Cause   string    // why it failed
	Sex     string    // of the hatchling, as seen: "male", "female" or ""
}

// Live reports whether the egg can still hatch.
func (e *Egg) Live() bool { return e.State == Incubating || e.State == Pipped }
