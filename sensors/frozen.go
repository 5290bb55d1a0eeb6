package sensors

import (
	"math"
	"time"

	"clutchd/incubation"
)

// A value that never moves is either a steady place under a coarse chip or a
// sensor that has died with its last answer on its lips. Which, this sensor's
// own past tells: how long it rests between two values. Rests are long-tailed
// (near the edge of a step a value flips, in its middle it stays for hours), so
// they are compared with the longest one lately, not with a mean.
//
// Judgement: a rest five times the longest one, of at least an hour and twenty
// readings, once a whole day has been seen with enough rests in it. A chip of
// coarse steps needs four times that: in the middle of one the weather decides
// when it moves.
const (
	restTimes    = 5
	restCoarse   = 20
	coarseStep   = 0.2 // K
	restLeast    = time.Hour
	restReadings = 20
	enoughRests  = 20
	restRecord   = 24 * time.Hour
	// restFade is how long the longest rest is remembered: its half-life.
	restFade = 3 * 24 * time.Hour
)

// rests learns how long a sensor's value rests.
type rests struct {
	from     time.Time // of the rest that goes on; zero: none does
	at       time.Time // newest reading
	celsius  incubation.Celsius
	humidity incubation.Humidity
	readings int // of the rest that goes on
	longest  time.Duration
	step     float64 // the smallest seen, K; zero: none
	count    int
	record   time.Duration
	frozen   bool
}

// pause ends the rest without learning from it.
func (s *rests) pause() { s.from, s.readings, s.frozen = time.Time{}, 0, false }

// see takes a reading and reports whether the value is frozen. A humidity that
// moves shows that the chip is alive.
func (s *rests) see(r incubation.Reading) bool {
	same := !s.from.IsZero() && r.Celsius == s.celsius && r.Humidity == s.humidity
	if !s.at.IsZero() && !s.from.IsZero() {
		since := r.Time.Sub(s.at)
		s.record += since
		s.longest = time.Duration(float64(s.longest) * fade(since, restFade))
	}
	s.at = r.Time
	if same {
		s.readings++
		s.frozen = s.frozen || s.learned() && s.readings >= restReadings && r.Time.Sub(s.from) > s.most()
		return s.frozen
	}
	if step := math.Abs(float64(r.Celsius - s.celsius)); !s.from.IsZero() && step > 0 && (s.step == 0 || step < s.step) {
		s.step = step
	}
	if !s.from.IsZero() {
		rest := r.Time.Sub(s.from)
		if s.frozen {
			rest = min(rest, 2*s.longest) // it may have been alive after all
		}
		s.longest = max(s.longest, rest)
		s.count++
	}
	s.from, s.celsius, s.humidity, s.readings, s.frozen = r.Time, r.Celsius, r.Humidity, 1, false
	return false
}

func (s *rests) learned() bool { return s.count >= enoughRests && s.record >= restRecord }

func (s *rests) most() time.Duration {
	times := time.Duration(restTimes)
	if s.step >= coarseStep {
		times = restCoarse
	}
	return max(times*s.longest, restLeast)
}

// fade is what is left after a time of what halves in another.
func fade(since, half time.Duration) float64 {
	return math.Exp2(-since.Seconds() / half.Seconds())
}
