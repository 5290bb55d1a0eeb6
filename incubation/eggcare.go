package incubation

import "time"

// A Candling is what a light behind the shell showed.
type Candling struct {
	At    time.Time
	Seq   uint64
	Seen  string // "alive", "unsure", "dead"
	Shows string // Veins, Ring, Clear, Dark, or "" for not noted
}

// What a candled egg may show.
const (
	Veins = "veins" // vessels: alive
	Ring  = "ring"  // a ring of blood: it stopped early
	Clear = "clear" // nothing: not fertile, or too early to tell
	Dark  = "dark"  // filled: late; alive if it moves
)

// A Look is how an egg, or the box of one, was found.
type Look struct {
	At    time.Time
	Seq   uint64
	Dents string // "" none, SlightDents, DeepDents
	Wet   bool   // drops on the shell, substrate too wet
	Mould bool
	Aired bool // the lid was lifted
	Note  string
}

// How far a shell has sunk in.
const (
	SlightDents = "slight"
	DeepDents   = "deep"
)

// A Milestone is a first time in a hatchling's life.
type Milestone struct {
	At   time.Time
	Seq  uint64
	What string // FirstShed, FirstMeal, YolkIn
}

// The milestones.
const (
	YolkIn    = "yolk"
	FirstShed = "shed"
	FirstMeal = "meal"
)
