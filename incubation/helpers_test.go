package incubation_test

import (
	"sync"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// day0 is when the eggs of these tests were laid.
var day0 = time.Date(2025, 3, 3, 12, 0, 0, 0, time.UTC)

// leopards is the ensemble that ships: what the defaults of a user give.
var leopards = sync.OnceValue(func() *incubation.Ensemble {
	return species.Ensemble(0)
})

// day is a time that many days after day0.
func day(d float64) time.Time {
	return day0.Add(time.Duration(d * 24 * float64(time.Hour)))
}

// laidAt is a laying that was seen.
func laidAt(at time.Time) incubation.Laying { return incubation.Laying{From: at, To: at} }

// block is one step of a probe in the substrate that is good to 0.2 K.
func block(start time.Time, celsius float64) incubation.Block {
	return incubation.Block{
		Start: start, Celsius: incubation.Celsius(celsius), Covered: 1,
		Probe: "p1", Position: incubation.Substrate, Accuracy: 0.2,
	}
}

// curve is a temperature for each day since day0.
type curve func(day float64) float64

func constant(celsius float64) curve { return func(float64) float64 { return celsius } }

// then is one curve up to a day and another from it on.
func (c curve) then(at float64, next curve) curve {
	return func(d float64) float64 {
		if d < at {
			return c(d)
		}
		return next(d)
	}
}

// lay gives a track of the curve's first days, in whole blocks.
func (c curve) lay(t testing.TB, e *incubation.Ensemble, days float64) *incubation.Track {
	t.Helper()
	track := incubation.NewTrack(e, laidAt(day0))
	c.feed(t, track, 0, days)
	return track
}

// feed adds the blocks of the curve from a day to another.
func (c curve) feed(t testing.TB, track *incubation.Track, from, to float64) {
	t.Helper()
	for at := day(from); at.Before(day(to)); at = at.Add(incubation.BlockLength) {
		middle := at.Add(incubation.BlockLength/2).Sub(day0).Hours() / 24
		if err := track.Add(block(at, c(middle))); err != nil {
			t.Fatal(err)
		}
	}
}
