package thermal

import (
	"math"
	"time"
)

// A Cooling is how a place loses its warmth without heat:
//
//	T(t) = room + (T(0) - room)·exp(-t/Tau)
type Cooling struct {
	Tau time.Duration
	// SD is how sure Tau is, one standard deviation of its logarithm.
	SD float64
	// Seen is how many times it was seen to cool off, Cycles how many of its
	// thermostat's pauses were measured instead. Both zero: it is a guess.
	Seen, Cycles int
}

// Typical is taken for a cabinet that has not been seen to cool: judgement, the
// same as what an egg's record takes for an outage that nobody measured.
func Typical() Cooling { return Cooling{Tau: 3 * time.Hour, SD: 0.5} }

// Learned reports whether it is more than a guess.
func (c Cooling) Learned() bool { return c.Seen+c.Cycles > 0 }

// Half is the time in which half of the warmth over the room is lost.
func (c Cooling) Half() time.Duration {
	return time.Duration(float64(c.Tau) * math.Ln2)
}

// At gives the temperature after a time in a room that keeps its own.
func (c Cooling) At(from, room float64, after time.Duration) float64 {
	return room + (from-room)*math.Exp(-after.Seconds()/c.Tau.Seconds())
}

// Until says when it falls under a limit; Early is that for a place that cools
// as fast as 5 % may. False: it never does in such a room. One that is under
// it already has done so at once.
func (c Cooling) Until(from, room, limit float64) (Reach, bool) {
	switch {
	case !finite(from) || !finite(room) || !finite(limit) || c.Tau <= 0:
		return Reach{}, false
	case from <= limit:
		return Reach{}, true
	case room >= limit:
		return Reach{}, false
	}
	likely := c.Tau.Minutes() * math.Log((from-room)/(limit-room))
	return Reach{Likely: duration(likely), Early: duration(likely * math.Exp(-sure*c.SD))}, true
}
