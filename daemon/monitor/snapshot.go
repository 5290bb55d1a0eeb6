package monitor

import (
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/thermal"
	"clutchd/sensors"
)

// A Snapshot is what was true at the last finished tick. It is never changed
// after it is published: pages, metrics and MQTT read it without a lock.
type Snapshot struct {
	Site    string
	Time    time.Time // of the tick, UTC; provisional while the clock is not trusted
	Trusted bool      // the clock is trusted
	Started time.Time
	Tick    uint64 // number of the tick
	// Finished is when that tick ended, by the system's clock, set right or not;
	// zero while none has.
	Finished time.Time
	Took     time.Duration // the tick's own duration
	Book     *book.State
	Probes   []ProbeNow     // by id
	Contacts []ContactNow   // by id
	Mains    Supply         // of the room
	Places   []PlaceNow     // incubators each followed by its boxes, then lay boxes, enclosures, room
	Alerts   []alerts.State // told, cleared and not acknowledged, or shelved; worst first
	Clutches []ClutchNow    // newest laying first
	Outbox   map[string]int // notices waiting, by destination
	Lesson   Lesson         // what the room's own outcomes have taught
	// StoreFault is why the store cannot be written, "" while it can.
	StoreFault string
}

// A ProbeNow is a probe at the last tick.
type ProbeNow struct {
	sensors.Probe
	Place    string // "" : waiting to be given a place
	Position incubation.Position
	// Latest is the newest believable reading, offset applied; its Time is
	// zero if there was none. When Stale it is old: show its age, never the
	// value as if it were now.
	Latest incubation.Reading
	Stale  bool
	// Fault is why the newest try gave no value; "" if it gave one.
	Fault sensors.Cause
	// Raw is Latest without the correction. Calibrated is what the correction
	// rests on; nil: the probe was never compared.
	Raw        incubation.Reading
	Calibrated *incubation.Calibration
	// believed is the newest reading that is no spike, before the one before
	// Latest; came when a step began that Latest confirmed.
	believed, before incubation.Reading
	came             time.Time
	Faults           map[sensors.Cause]uint64 // since start
}

// A PlaceNow is a place at the last tick.
type PlaceNow struct {
	incubation.Place
	In      string // the place it stands in, "" for none
	Path    string // names from the outside in: "Incubator 1 / Box 3"
	Probes  []string
	Celsius *incubation.Celsius // mean of its fresh probes; nil: none is fresh
	// Warmest and Coolest of its fresh probes: what limits are judged by.
	Warmest, Coolest *incubation.Celsius
	// Hottest is what two readings in a row of one of its probes were at least,
	// whatever their quality: doubt never hides heat that kills.
	Hottest *incubation.Celsius
	hot     time.Time // of the first of the two
	// Doubt is broken where no probe that measures the place is fresh: then
	// Celsius is what the others say.
	Doubt    incubation.Quality
	came     time.Time // when a step began that a reading of this tick confirmed
	Humidity *incubation.Humidity
	Read     time.Time           // of the newest value behind it; zero: never
	Setpoint *incubation.Celsius // its own or its incubator's; nil: none is known
	// Low and High are the temperature limits at which an alert would be
	// raised, nil where there is none.
	Low, High   *incubation.Celsius
	LowHumidity *incubation.Humidity
	// Offset is the learned difference from its incubator, K; nil: not known.
	Offset *float64
	// Expected is the temperature to come as long as nobody changes anything:
	// see Monitor.expected; nil: nothing is known to go by.
	Expected *incubation.Celsius
	// Cooling is how an incubator loses its warmth without heat, as it was seen
	// to; nil: it was not. Countdown is how long it stays warm enough, while its
	// mains are off.
	Cooling   *thermal.Cooling
	Countdown *Countdown
	// Mains are those of the place: the room's, and its own or its incubator's.
	Mains Supply
	// Opened is when its door was last opened, zero once its temperature no
	// longer tells of that.
	Opened   time.Time
	Settling time.Time // off-setpoint rules wait until then; zero: they do not
	// Limits are its own in force now: of the day, the night or the cooling
	// season.
	Limits  book.Period
	Service *ServiceNow     // it is out of service; nil: it is not
	Eggs    []string        // ids of the live eggs that lie here
	Worst   alerts.Severity // of the alerts about it; "": none
}

// A ClutchNow is a clutch as /api/clutches/{id} gives it.
type ClutchNow struct {
	ID     string    `json:"id"`
	Female string    `json:"female"`
	Name   string    `json:"-"` // the female's name
	Laid   LaidJSON  `json:"laid"`
	Males  []float64 `json:"males"` // chance of 0, 1, … males among the live eggs
	Eggs   []EggNow  `json:"eggs"`
	// Ended is when its last egg hatched or was lost; zero while one lives.
	Ended time.Time `json:"-"`
}

// LaidJSON is the laying interval.
type LaidJSON struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// An EggNow is one egg of a ClutchNow.
type EggNow struct {
	ID        string              `json:"id"`
	Mark      string              `json:"mark"`
	State     incubation.EggState `json:"state"`
	Box       string              `json:"box"` // id of the place it lies in now; "" once it hatched or failed
	PlacePath string              `json:"place_path"`
	// Estimate is absent while there is neither a record nor a setpoint to make
	// one from, and while it is being worked out.
	*incubation.Estimate
	// Computing: the record is still being read, and nothing is known yet of
	// what it will say.
	Computing bool `json:"-"`
}
