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
// from the newest that is stored by elapsed time, so that nothing is judged
// by a jump, and readings are kept by boot and elapsed time.
type reckoning struct {
	trusted   bool
	now       time.Time     // provisional while not trusted
	elapsed   time.Duration // of the tick that now belongs to
	newest    time.Time     // newest that is stored, then the newest tick
	behind    bool          // the clock is set, but to before newest
	begun     bool
	offered   time.Time // the true time at offeredAt, as a keeper's phone gave it
	offeredAt time.Duration
	boot      time.Time // of the machine, by its clock; zero: it is not said to be set
	denied    time.Time // the same of a clock that the keeper's phone contradicted
}

const (
	// stepBack is how far the clock may step back, as a time server makes it,
	// and still be believed.
	stepBack = 5 * time.Second
	// stepAhead is how far it may step ahead before the delays that run are
	// moved along: less than that changes no delay that matters.
	stepAhead = time.Minute
)

// advance takes the tick's instant. When the clock has become trusted, or was
// set ahead, it is set, and what was timed so far must be moved by shift.
func (r *reckoning) advance(at Instant) (shift time.Duration, set bool) {
	if !r.begun {
		r.begun = true
		r.now = r.newest
		if r.now.IsZero() {
			r.now = time.Unix(0, 0).UTC()
		}
		r.elapsed = at.Elapsed
	}
	provisional := r.now.Add(max(0, at.Elapsed-r.elapsed))
	r.elapsed = at.Elapsed
	wall, told := r.told(at)
	r.behind = told && wall.Before(r.newest.Add(-stepBack))
	switch {
	case !told && r.trusted:
		// What was right runs on: a kernel that has not heard from a time
		// server for a night no longer calls its clock set.
		r.now, r.newest = provisional, provisional
	case !told || r.behind:
		r.now, r.trusted = provisional, false
	case !r.trusted || wall.Sub(provisional) > stepAhead:
		r.trusted, r.now, r.newest = true, wall, wall
		return wall.Sub(provisional), true
	default:
		if wall.After(r.now) { // a small step back is waited out
			r.now = wall
		}
		r.newest = r.now
	}
	return 0, false
}

// told is the time as something that knows it tells it: the machine's clock
// once it is set, or a keeper's phone. The phone counts more than a clock that
// was said to be set when it spoke, and was wrong: one of a chip whose battery
// is dead.
func (r *reckoning) told(at Instant) (time.Time, bool) {
	wall := at.Wall.UTC().Round(0)
	r.boot = time.Time{}
	if at.Trusted {
		r.boot = wall.Add(-at.Elapsed)
	}
	denied := !r.denied.IsZero() && near(r.boot, r.denied)
	if !r.offered.IsZero() && (!at.Trusted || denied) {
		return r.offered.Add(at.Elapsed - r.offeredAt), true
	}
	return wall, at.Trusted
}

// offer takes the time a keeper's phone gives. It is a person's word, so it
// counts even when it lies before the newest stored reading: that one may have
// been written under a clock set wrong.
func (r *reckoning) offer(now time.Time) {
	r.offered, r.offeredAt = now.UTC().Round(0), r.elapsed
	r.newest = r.offered
	r.denied = time.Time{}
	if !r.boot.IsZero() && !near(r.boot.Add(r.elapsed), r.offered) {
		r.denied = r.boot
	}
}

// near reports whether two times are one, but for what a phone and a slow page
// may be off.
func near(a, b time.Time) bool { return a.Sub(b).Abs() < stepAhead }

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
