package incubation

import "time"

// A Question is what is asked of a track.
type Question struct {
	// Now is the time asked at, not before the end of the record.
	Now time.Time
	// Plan is the temperature to come, in order of From; each step holds until
	// the next, and is that of where the egg lies: of a box, if only the air
	// around it was measured. Empty: the mean of the record's last day goes on.
	Plan []Step
	// Unhatched says that nobody has seen this egg hatch or fail. AliveAt is
	// the latest time that it was known to be alive and not hatched. With
	// AliveAt the hatch is sought after it; with Unhatched alone, after Now: so
	// leave both unset where nothing is known of the egg.
	Unhatched bool
	AliveAt   time.Time
	// PippedAt is when the shell was first seen open; zero: it was not.
	PippedAt time.Time
	// Holds asks for hold_from_now.
	Holds bool
}

// A Step is one temperature to come, from a time on.
type Step struct {
	From    time.Time
	Celsius Celsius
}

// alive is the time that the hatch must come after, zero if nothing is known.
func (q Question) alive() time.Time {
	if q.AliveAt.IsZero() && q.Unhatched {
		return q.Now
	}
	return q.AliveAt
}
