// Package simulated is an invented room: weather, thermostats, egg boxes and
// probes that behave as the physics of heat says, so that the whole program
// can be run and tried without a single sensor.
//
// It is a model of temperatures, not of any real room: its sizes are invented
// and its humidity follows temperature only. One seed, spec and start give
// one history, however the time is cut into calls.
//
// Temperatures are °C, differences K, power W, losses W/K, heat capacity J/K,
// relative humidity a ratio 0 to 1.
package simulated

import (
	"errors"
	"fmt"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A Spec describes the room.
type Spec struct {
	// Interval is how often every probe is read; zero: ten seconds.
	Interval time.Duration
	// Coarse is the interval of readings in a call that leaps at least so
	// far, for a season lived through quickly; a multiple of Interval. Zero:
	// always Interval.
	Coarse     time.Duration
	Weather    Weather
	Cabinets   []Cabinet
	Enclosures []Enclosure
	Tubs       []Tub
	Probes     []Probe
	Contacts   []Contact
	Faults     []Fault
}

// Weather is the air of the room.
type Weather struct {
	Place string // id of the room
	Mean  float64
	Swing float64 // K, from the mean to the warmest hour of the day
	Peak  float64 // hour UTC of the warmest
	Drift float64 // K per day, from From on
	// From is the day whose Mean it is; zero: the model's start.
	From  time.Time
	Moods float64 // K, how far the weather of a few days moves it
	// Season is how far the year moves it, K: a sine that rises from From on.
	Season float64
	Air    Air
}

// Air is the moisture of a place.
type Air struct {
	Humidity  float64 // at the place's usual temperature; zero: not modelled
	Usual     float64 // °C
	PerKelvin float64 // change of the ratio for each K above the usual
}

// A Cabinet is an incubator: a heater, a thermostat, and walls that lose heat
// to the room.
type Cabinet struct {
	Place    string
	Settings []Setting // of the thermostat, in order of From
	// DialError is how far the cabinet's air lies above what is set.
	DialError float64
	// Hysteresis is the width of an on/off thermostat's band. Zero: a
	// proportional one.
	Hysteresis float64
	// Feeler is the lag of the thermostat's own sensor: with one, the heater
	// switches late and the air swings past the band.
	Feeler   time.Duration
	Watts    float64
	Losses   float64 // W/K
	Capacity float64 // J/K; capacity over losses is its time constant
	Air      Air
}

// A Setting is what a thermostat is set to from a time on.
type Setting struct {
	From    time.Time
	Celsius float64
}

// An Enclosure is warmed above the room, by day and by night.
type Enclosure struct {
	Place     string
	DayRise   float64 // K above the room
	NightRise float64
	Dawn      float64 // hour UTC at which the day begins; it has twelve hours
	Lag       time.Duration
	Air       Air
}

// A Tub is an egg box or lay box: it follows what it stands in, slowly.
type Tub struct {
	Place string
	In    string // place of a cabinet or enclosure; the room for any other
	// Shelf is how much warmer than its cabinet it lies, K, when the cabinet is
	// eight kelvin above the room: shelves differ because heat flows.
	Shelf float64
	Lag   time.Duration // time constant of the substrate
	Air   Air
	Moves []Move // to other places than In, in order of From
}

// A Move sets a tub into another place.
type Move struct {
	From time.Time
	In   string
}

// A Probe is a sensor and where it sits.
type Probe struct {
	sensors.Probe // Interval and Source are filled in
	Place         string
	Position      incubation.Position
	Bias          float64 // K, a constant error
	Noise         float64 // K, one standard deviation
}

// Check gives every problem of the spec at once.
func (s Spec) Check() error {
	c := checker{places: map[string]bool{}, probes: map[string]bool{}}
	c.place(s.Weather.Place)
	if s.Interval < 0 || s.Coarse < 0 || s.Coarse%s.interval() != 0 {
		c.bad("coarse %v is not a multiple of the interval %v", s.Coarse, s.interval())
	}
	for _, b := range s.Cabinets {
		c.place(b.Place)
		if b.Losses <= 0 || b.Capacity <= 0 || b.Watts <= 0 || len(b.Settings) == 0 {
			c.bad("cabinet %s lacks losses, capacity, power or a setting", b.Place)
		}
	}
	for _, e := range s.Enclosures {
		c.place(e.Place)
		if e.Lag <= 0 {
			c.bad("enclosure %s has no lag", e.Place)
		}
	}
	for _, t := range s.Tubs {
		if !c.places[t.In] || t.Lag <= 0 {
			c.bad("tub %s stands nowhere or has no lag", t.Place)
		}
		for _, m := range t.Moves {
			if !c.places[m.In] {
				c.bad("tub %s is moved into %q, which is not there", t.Place, m.In)
			}
		}
		c.place(t.Place)
	}
	c.inside(s)
	return errors.Join(c.errs...)
}

// checker gathers the problems of a spec.
type checker struct {
	places, probes map[string]bool
	errs           []error
}

func (c *checker) bad(format string, args ...any) {
	c.errs = append(c.errs, fmt.Errorf(format, args...))
}

func (c *checker) place(id string) {
	if id == "" || c.places[id] {
		c.bad("place %q is empty or used twice", id)
	}
	c.places[id] = true
}

// inside looks at what is in the places.
func (c *checker) inside(s Spec) {
	for _, p := range s.Probes {
		if p.ID == "" || c.probes[p.ID] || !c.places[p.Place] {
			c.bad("probe %q is used twice or in no place", p.ID)
		}
		c.probes[p.ID] = true
	}
	for _, k := range s.Contacts {
		if k.ID == "" || c.probes[k.ID] || !c.places[k.Place] {
			c.bad("contact %q is used twice or in no place", k.ID)
		}
		c.probes[k.ID] = true
	}
	for _, f := range s.Faults {
		if f.Subject != "" && !c.places[f.Subject] && !c.probes[f.Subject] {
			c.bad("fault %s is about %q, which is not there", f.Kind, f.Subject)
		}
	}
}

func (s Spec) interval() time.Duration {
	if s.Interval <= 0 {
		return 10 * time.Second
	}
	return s.Interval
}
