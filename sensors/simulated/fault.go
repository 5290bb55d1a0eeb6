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

	// Those that have a size.
	Drifting FaultKind = "drifting" // a thermostat's aim moves by Size K a day
	Bumped   FaultKind = "bumped"   // a thermostat aims Size K higher
	Weak     FaultKind = "weak"     // a heater gives Size of its power
	Stirless FaultKind = "stirless" // a cabinet's fan stands: shelves differ Size times as much
	Lidless  FaultKind = "lidless"  // a tub's lid is off: it follows Size times as fast, and dries
	Out      FaultKind = "out"      // a tub stands in the room
	Heatwave FaultKind = "heatwave" // the room warms by Size K, over six hours, and back
)

// A Fault is something that goes wrong from a time to a time.
type Fault struct {
	Kind    FaultKind
	Subject string // place of a cabinet, enclosure or tub, or id of a probe
	From    time.Time
	To      time.Time // zero: for ever
	Size    float64   // of the kinds that have one
}

// holds reports whether the fault is on for the subject at t.
func (f Fault) holds(kind FaultKind, subject string, t time.Time) bool {
	return f.Kind == kind && (f.Subject == subject || f.Subject == "" && kind == Tripped) &&
		!t.Before(f.From) && (f.To.IsZero() || t.Before(f.To))
}

func (r *Room) broken(kind FaultKind, subject string, t time.Time) bool {
	_, is := r.fault(kind, subject, t)
	return is
}

// fault gives the fault of a kind that is on for the subject at t.
func (r *Room) fault(kind FaultKind, subject string, t time.Time) (Fault, bool) {
	for _, f := range r.around(t) {
		if f.holds(kind, subject, t) {
			return f, true
		}
	}
	return Fault{}, false
}

// around gives the faults that touch the hour of t: a year has a thousand, and
// every step asks.
func (r *Room) around(t time.Time) []Fault {
	hour := t.Truncate(time.Hour)
	if r.hour.Equal(hour) {
		return r.near
	}
	r.hour, r.near = hour, r.near[:0]
	for _, f := range r.faults {
		if f.From.Before(hour.Add(time.Hour)) && (f.To.IsZero() || f.To.After(hour)) {
			r.near = append(r.near, f)
		}
	}
	return r.near
}

// size gives the size of a fault that is on for the subject at t, else 1.
func (r *Room) size(kind FaultKind, subject string, t time.Time) float64 {
	if f, is := r.fault(kind, subject, t); is {
		return f.Size
	}
	return 1
}

// astray is how far a thermostat aims from what its dial says, K, for a fault.
func (r *Room) astray(cabinet string, t time.Time) float64 {
	var k float64
	if f, is := r.fault(Drifting, cabinet, t); is {
		k += f.Size * t.Sub(f.From).Hours() / 24
	}
	if f, is := r.fault(Bumped, cabinet, t); is {
		k += f.Size
	}
	return k
}

// wave is how far a heat wave warms the room, K.
func (r *Room) wave(t time.Time) float64 {
	f, is := r.fault(Heatwave, r.spec.Weather.Place, t)
	if !is {
		return 0
	}
	const ramp = 6 * time.Hour
	share := float64(t.Sub(f.From)) / float64(ramp)
	if !f.To.IsZero() {
		share = min(share, float64(f.To.Sub(t))/float64(ramp))
	}
	return f.Size * min(1, share)
}

// slipTime is how fast a slipped probe takes the temperature of where it lies.
const slipTime = 2 * time.Minute

// slipped gives how much of a probe's reading is still its box's: 1 unless it
// slipped.
func (r *Room) slipped(probe string, t time.Time) float64 {
	if f, is := r.fault(Slipped, probe, t); is {
		return math.Exp(-float64(t.Sub(f.From)) / float64(slipTime))
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
	r.faults, r.hour = append(r.faults, f), time.Time{}
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
