package alerts

import "time"

// The night, by the clock on the wall: who is woken then is woken indeed.
// Judgement.
const (
	nightFrom = 22 // o'clock
	nightTo   = 7
)

// AtNight reports whether it was night in the room, from 22:00 to 7:00 of its
// zone; nil: UTC.
func AtNight(t time.Time, zone *time.Location) bool {
	if zone == nil {
		zone = time.UTC
	}
	h := t.In(zone).Hour()
	return h >= nightFrom || h < nightTo
}
