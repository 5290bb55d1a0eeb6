package incubation

import "time"

// A Clutch is the eggs of one female from one laying, two as a rule.
type Clutch struct {
	ID     string
	Female string
	Laid   Laying
	Eggs   []*Egg // in the order of their marks
	// Mixed are hatchlings that were sexed without knowing their eggs.
	Mixed Mixed
}

// Ended is when its last egg hatched or was lost; zero while one lives.
func (c *Clutch) Ended() time.Time {
	var last time.Time
	for _, e := range c.Eggs {
		if e.Live() {
			return time.Time{}
		}
		if e.Ended.After(last) {
			last = e.Ended
		}
	}
	return last
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
	// PippedAt is when pipping was first written down: by then it had begun.
	// Zero: it was not written down.
	PippedAt time.Time
	Ended    time.Time // hatched or failed; zero while it lives
	Cause    string    // why it failed
	// Candlings, Looks and Weights are what was written down of it, in order;
	// Weights of its hatchling too, Milestones of that alone.
	Candlings  []Candling
	Looks      []Look
	Weights    []Weight
	Milestones []Milestone
	// Sex is of its hatchling, Male, Female or "" for not known; Sexed says
	// when and how it was told. A sex told by temperature stands here too:
	// ask Sexed.How before learning from it.
	Sex   string
	Sexed Sexing
}

// Live reports whether the egg can still hatch.
func (e *Egg) Live() bool { return e.State == Incubating || e.State == Pipped }
