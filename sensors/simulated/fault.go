package simulated

import (
	"math"
	"math/rand/v2"
	"time"

	"clutchd/sensors"
)

// FaultKind says what goes wrong.
type FaultKind string

// What can go wrong.
const (
	StuckOn FaultKind = "stuck-on" // a cabinet's thermostat never switches off
	Tripped FaultKind = "tripped"  // no power for a cabinet or enclosure; "": for all
	Open    FaultKind = "open"     // a cabinet's door stands open
	Slipped FaultKind = "slipped"  // a probe lies outside its box
	Dead    FaultKind = "dead"     // a probe does not answer
	Garbled FaultKind = "garbled"  // a probe's bytes arrive damaged, mostly
)

// A Fault is something that goes wrong from a time to a time.
type Fault struct {
	Kind    FaultKind
	Subject string // place of a cabinet or enclosure, or id of a probe
	From    time.Time
	To      time.Time // zero: for ever
}

// holds reports whether the fault is on for the subject at t.
func (f Fault) holds(kind FaultKind, subject string, t time.Time) bool {
	return f.Kind == kind && (f.Subject == subject || f.Subject == "" && kind == Tripped) &&
		!t.Before(f.From) && (f.To.IsZero() || t.Before(f.To))
}

func (r *Room) broken(kind FaultKind, subject string, t time.Time) bool {
	for _, f := range r.faults {
		if f.holds(kind, subject, t) {
			return true
		}
	}
	return false
}

// slipTime is how fast a slipped probe takes the temperature of where it lies.
const slipTime = 2 * time.Minute

// slipped gives how much of a probe's reading is still its box's: 1 unless it
// slipped.
func (r *Room) slipped(probe string, t time.Time) float64 {
	for _, f := range r.faults {
		if f.holds(Slipped, probe, t) {
			return math.Exp(-float64(t.Sub(f.From)) / float64(slipTime))
		}
	}
	return 1
}

// garbled is what comes of damaged bytes.
var garbled = [8]sensors.Cause{
	sensors.Checksum, sensors.Checksum, sensors.Checksum,
	sensors.Checksum, sensors.PowerOn, sensors.OutOfRange, sensors.NotReady, "",
}

// trouble gives the cause why a probe has no value at t, "" if it has one. A
// garbled probe gets one value in eight through.
func (r *Room) trouble(probe string, t time.Time, dice *rand.Rand) sensors.Cause {
	switch {
	case r.broken(Dead, probe, t):
		return sensors.Absent
	case !r.broken(Garbled, probe, t):
		return ""
	}
	return garbled[dice.IntN(len(garbled))]
}

// Inject adds a fault. One that began before the model's present time changes
// what happened since: the model goes back to before the fault and comes
// again to where it was. Readings already given are not taken back.
func (r *Room) Inject(f Fault) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.faults = append(r.faults, f)
	now := r.heat.count
	if !r.time(now).After(f.From) {
		return
	}
	n := len(r.marks)
	for n > 1 && r.time(r.marks[n-1].count).After(f.From) {
		n--
	}
	r.marks = r.marks[:n]
	r.heat = r.marks[n-1].clone()
	r.runTo(now)
}
