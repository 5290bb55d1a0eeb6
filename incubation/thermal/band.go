package thermal

import (
	"slices"
	"time"
)

const (
	// bandHours is how much of a record tells what a place usually swings
	// between, bandFrom how much of it there must be.
	bandHours = 72
	bandFrom  = 6
	// bandMost is the share of hours whose extremes count: a fever of seven
	// hours in three days makes no fever usual. Judgement.
	bandMost = 0.9
	// hourFull is how much of an hour must have been read for it to count.
	hourFull = 40 * time.Minute
)

// A Band is what a place usually swings between, from the extremes of each
// hour of its last three days. Its zero value is ready. A thermostat's swing
// is in it, whatever its width.
type Band struct {
	hours     []extremes // whole ones, oldest first
	open      extremes
	low, high float64 // of hours, once there are enough
}

type extremes struct {
	first, last time.Time
	low, high   float64
}

// Add takes a point, oldest first.
func (b *Band) Add(p Point) {
	if !finite(p.Celsius) || p.At.Before(b.open.last) {
		return
	}
	hour := p.At.Truncate(time.Hour)
	if b.open.first.IsZero() || !b.open.first.Truncate(time.Hour).Equal(hour) {
		b.close()
		b.open = extremes{first: p.At, low: p.Celsius, high: p.Celsius}
	}
	b.open.last = p.At
	b.open.low, b.open.high = min(b.open.low, p.Celsius), max(b.open.high, p.Celsius)
}

func (b *Band) close() {
	if b.open.last.Sub(b.open.first) < hourFull {
		return
	}
	if b.hours = append(b.hours, b.open); len(b.hours) > bandHours {
		b.hours = slices.Delete(b.hours, 0, 1)
	}
	b.sum()
}

// sum finds the band of the hours that there are.
func (b *Band) sum() {
	n := len(b.hours)
	if n < bandFrom {
		return
	}
	lows, highs := make([]float64, n), make([]float64, n)
	for i, h := range b.hours {
		lows[i], highs[i] = h.low, h.high
	}
	slices.Sort(lows)
	slices.Sort(highs)
	most := min(int(bandMost*float64(n-1)), n-2) // the one that may be going wrong now
	b.low, b.high = lows[n-1-most], highs[most]
}

// Usual gives the band; false: too little was read.
func (b *Band) Usual() (low, high float64, ok bool) {
	return b.low, b.high, len(b.hours) >= bandFrom
}

// Hours is how many hours the band is of.
func (b *Band) Hours() int { return len(b.hours) }

// Shift moves the open hour, when the clock is set.
func (b *Band) Shift(d time.Duration) {
	if !b.open.first.IsZero() {
		b.open.first, b.open.last = b.open.first.Add(d), b.open.last.Add(d)
	}
}
