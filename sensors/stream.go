package sensors

import (
	"time"

	"clutchd/incubation"
)

// A Stream judges one probe's readings by those before them: which is alone
// among its neighbours, came faster than air can, or has not moved for longer
// than this sensor can stay still. Its zero value is ready. It takes raw
// values, and adding the same to all of them changes no verdict but that on
// values which devices give instead of a measurement.
//
// It is pure: the same readings give the same verdicts. A verdict is given
// once, when the reading comes, and never taken back.
type Stream struct {
	last   time.Time // of the newest reading
	spikes hampel
	jump   jump
	rests  rests
	recent tally
	odd    time.Time // of the first outlier since the newest believed; zero: there is none
	came   time.Time // see Came
	wet    time.Time // since when the humidity has been saturated; zero: it is not
}

// forget is how long a pause may be before what came earlier says nothing
// about what comes: a place may have come anywhere by then. Slow probes are
// given as many of their own steps. Judgement.
const (
	forget      = 30 * time.Minute
	forgetSteps = 6
)

// Judge gives the quality of a probe's next reading, its own kept where
// nothing worse is found; or a fault and no quality, where the value is one
// that devices give instead of a measurement. Readings must come oldest first;
// an older one is not judged and keeps its quality.
func (s *Stream) Judge(p Probe, r incubation.Reading) (incubation.Quality, *Fault) {
	s.damp(r)
	if r.Has&incubation.Temperature == 0 {
		return r.Quality, nil
	}
	since := r.Time.Sub(s.last)
	if !s.last.IsZero() && since <= 0 {
		return r.Quality, nil
	}
	if s.last.IsZero() || since > max(forget, forgetSteps*p.Interval) {
		s.spikes, s.jump, since = hampel{}, jump{}, 0
		s.rests.pause()
	}
	x := float64(r.Celsius)
	if f := instead(p, x, &s.spikes); f != nil {
		return incubation.Good, f
	}
	s.last = r.Time
	rested := s.rests.see(r)
	found := s.spikes.see(x, since, p.Resolution)
	var q incubation.Quality
	switch {
	case found.spike:
		q = incubation.Spiked
	case s.jump.see(r.Time, x, found):
		q = incubation.Jumped
	case rested:
		q = incubation.Frozen
	}
	s.confirm(r.Time, found)
	s.recent.see(found.lone, since, p.Interval)
	if q == incubation.Good {
		q = r.Quality
	}
	return q, nil
}

func (s *Stream) confirm(now time.Time, f finding) {
	s.came = time.Time{}
	switch {
	case f.stepped:
		s.came, s.odd = s.odd, time.Time{}
	case !f.spike:
		s.odd = time.Time{}
	case s.odd.IsZero():
		s.odd = now
	}
}

// Came is when the step began that the newest reading confirmed, zero where it
// confirmed none: what was held back until now has lasted since then.
func (s *Stream) Came() time.Time { return s.came }

// Spikes is how many of the newest readings were borne out by none after them:
// a count that halves in an hour or two dozen readings, whichever is longer.
// What turned out to be a step does not count.
func (s *Stream) Spikes() float64 { return s.recent.spikes }

// Rest is since when the value has not moved; zero: it has, or is not known to
// be able to.
func (s *Stream) Rest() time.Time {
	if s.rests.count < enoughRests {
		return time.Time{}
	}
	return s.rests.from
}

// Longest is the longest that the value is known to rest by itself; zero: that
// is not learned.
func (s *Stream) Longest() time.Duration {
	if !s.rests.learned() {
		return 0
	}
	return s.rests.longest
}

// Wet is since when the humidity has been saturated, zero while it is not.
func (s *Stream) Wet() time.Time { return s.wet }

// Shift moves what it remembers, when a clock was set.
func (s *Stream) Shift(d time.Duration) {
	for _, t := range []*time.Time{&s.last, &s.rests.from, &s.rests.at, &s.jump.from, &s.odd, &s.came, &s.wet} {
		if !t.IsZero() {
			*t = t.Add(d)
		}
	}
}

func (s *Stream) damp(r incubation.Reading) {
	switch {
	case r.Has&incubation.RelativeHumidity == 0:
	case r.Humidity < 1:
		s.wet = time.Time{}
	case s.wet.IsZero():
		s.wet = r.Time
	}
}

// A tally counts spikes, and lets them fade.
type tally struct{ spikes float64 }

func (t *tally) see(lone int, since, interval time.Duration) {
	t.spikes = t.spikes*fade(since, max(time.Hour, 24*interval)) + float64(lone)
}
