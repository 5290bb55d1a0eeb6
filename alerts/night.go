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

// Morning is the next 7:00 of the room's zone after t; nil: UTC. It is a time
// by the clock on the wall, whatever the night does to that clock.
func Morning(t time.Time, zone *time.Location) time.Time {
	if zone == nil {
		zone = time.UTC
	}
	d := t.In(zone)
	at := time.Date(d.Year(), d.Month(), d.Day(), nightTo, 0, 0, 0, zone)
	if !at.After(t) {
		at = time.Date(d.Year(), d.Month(), d.Day()+1, nightTo, 0, 0, 0, zone)
	}
	return at
}
