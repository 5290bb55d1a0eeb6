package sensors

import (
	"math"
	"time"
)

// What no place does. Steam from a kettle took a chip in air up by 14.6 K in
// five seconds (see TestMotes), a probe carried out of a warm cabinet is slower:
// that is left to a place, and so many more for the time between. Faster is a
// chip that was reset or lost its supply. Derived, with judgement.
const (
	jumpLeast     = 15.0 // K
	jumpPerMinute = 10   // K
	// jumpFor is how long a jump stays one; a value that is still there then
	// is taken to be true. Judgement.
	jumpFor = 10 * time.Minute
)

// A jump is a step that was too fast.
type jump struct {
	from time.Time // zero: there is none
	left float64   // °C: the level before it
}

// see reports whether a value counts as jumped.
func (j *jump) see(now time.Time, x float64, f finding) bool {
	most := jumpLeast + jumpPerMinute*f.within.Minutes()
	back := !j.from.IsZero() && math.Abs(x-j.left) < jumpLeast/2
	switch {
	case back, !j.from.IsZero() && now.Sub(j.from) >= jumpFor:
		*j = jump{}
	case j.from.IsZero() && f.stepped && math.Abs(f.first-f.from) > most:
		*j = jump{from: now, left: f.from}
	}
	return !j.from.IsZero()
}
