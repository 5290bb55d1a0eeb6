package monitor

import (
	"time"

	"clutchd/incubation"
)

// An Instant is the time as the machine tells it, and how far to believe it.
type Instant struct {
	// Wall is the system's clock, with Go's monotonic reading where there is
	// one, so that a reading taken before the clock was set keeps its age.
	Wall time.Time
	// Trusted: something has set the clock, and it has not been set wrong.
	Trusted bool
	// Boot is the kernel's boot id, Elapsed the time since that boot, sleep
	// included.
	Boot    string
	Elapsed time.Duration
}

// A reckoning keeps the monitor's own time. A Pi has no clock of its own: it
// starts at some past time and is set minutes later. Until then now runs on
// from the newest stored reading by elapsed time, so that nothing is judged
// by a jump, and readings are kept by boot and elapsed time.
type reckoning struct {
	trusted   bool
	now       time.Time     // provisional while not trusted
	elapsed   time.Duration // of the tick that now belongs to
	since     time.Time     // when the present state of trust began, in now's terms
	newest    time.Time     // newest stored reading, then the newest tick
	begun     bool
	offered   time.Time // the true time at offeredAt, as a keeper's phone gave it
	offeredAt time.Duration
}

// stepBack is how far the clock may step back, as a time server makes it,
// and still be believed.
const stepBack = 5 * time.Second

// advance takes the tick's instant and returns by how much provisional times
// must be moved: not zero exactly when the clock has become trusted.
func (r *reckoning) advance(at Instant) (shift time.Duration, gained bool) {
	if !r.begun {
		r.begun = true
		r.now = r.newest
		if r.now.IsZero() {
			r.now = time.Unix(0, 0).UTC()
		}
		r.elapsed, r.since = at.Elapsed, r.now
	}
	provisional := r.now.Add(max(0, at.Elapsed-r.elapsed))
	r.elapsed = at.Elapsed
	wall := at.Wall.UTC().Round(0)
	trusted := at.Trusted
	if !trusted && !r.offered.IsZero() {
		trusted, wall = true, r.offered.Add(at.Elapsed-r.offeredAt)
	}
	believable := trusted && !wall.Before(r.newest.Add(-stepBack))
	switch {
	case believable && !r.trusted:
		r.trusted, r.now, r.since = true, wall, wall
		return wall.Sub(provisional), true
	case believable:
		// A small step back is waited out.
		if wall.After(r.now) {
			r.now = wall
		}
		r.newest = r.now
	case r.trusted:
		r.trusted, r.now, r.since = false, provisional, provisional
	default:
		r.now = provisional
	}
	return 0, false
}

// offer takes the time a keeper's phone gives. It is a person's word, so it
// counts even when it lies before the newest stored reading: that one may have
// been written under a clock set wrong.
func (r *reckoning) offer(now time.Time) {
	r.offered, r.offeredAt = now.UTC().Round(0), r.elapsed
	r.newest = r.offered
}

// stamp gives a reading the time it was taken at: now less its age.
func (r *reckoning) stamp(reading *incubation.Reading, taken time.Time, at Instant) {
	age := max(0, at.Wall.Sub(taken))
	reading.Time = r.now.Add(-age).Round(0).UTC()
}

// untimed keeps a stamped reading by boot and elapsed time instead.
func (r *reckoning) untimed(reading incubation.Reading, at Instant) incubation.Untimed {
	age := r.now.Sub(reading.Time)
	reading.Time = time.Time{}
	return incubation.Untimed{Boot: at.Boot, Elapsed: at.Elapsed - age, Reading: reading}
}

// booted is the true time of the boot, once the clock is trusted.
func (r *reckoning) booted(at Instant) time.Time { return r.now.Add(-at.Elapsed) }
