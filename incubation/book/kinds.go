package book

import (
	"time"

	"clutchd/incubation"
)

// Kind says what an entry is about; it decides what its Data holds.
type Kind string

// The kinds of entry and the type of their Data.
const (
	KindPlace      Kind = "place"      // PlaceData: a place is set up, renamed or given another kind
	KindStand      Kind = "stand"      // StandData: a box is put into an incubator, a lay box into an enclosure
	KindProbe      Kind = "probe"      // ProbeData: a probe is put into a place, or taken out
	KindContact    Kind = "contact"    // ContactData: which place a contact tells of
	KindCalibrated Kind = "calibrated" // CalibratedData: a probe was compared with what was true
	KindSetpoint   Kind = "setpoint"   // SetpointData: a thermostat was set
	KindPlan       Kind = "plan"       // PlanData: setpoints or moves to come
	KindLimits     Kind = "limits"     // LimitsData: a place's own limits
	KindService    Kind = "service"    // ServiceData: a place is out of service, or back
	KindFemale     Kind = "female"     // FemaleData
	KindAnimal     Kind = "animal"     // AnimalData: an animal is written down, or more is known of it
	KindHoused     Kind = "housed"     // HousedData: an animal is put into an enclosure
	KindChecked    Kind = "checked"    // CheckedData: a look at a female's belly
	KindPaired     Kind = "paired"     // PairedData: a female and a male were brought together
	KindWeighed    Kind = "weighed"    // WeighedData: an animal, an egg, a hatchling or a box
	KindTreated    Kind = "treated"    // TreatedData
	KindQuarantine Kind = "quarantine" // QuarantineData: an animal is kept apart, or no longer
	KindRetired    Kind = "retired"    // RetiredData: an animal rests, left or died, or is back
	KindPhoto      Kind = "photo"      // PhotoData: a picture of an animal
	KindGates      Kind = "gates"      // GatesData: what is wanted of a female before she is paired
	KindSeason     Kind = "season"     // SeasonData: how the season's book is kept
	KindLooked     Kind = "looked"     // LookedData: how an egg or a box was found
	KindMilestone  Kind = "milestone"  // MilestoneData: a first time in a hatchling's life
	KindLaying     Kind = "laying"     // LayingData: a clutch was found
	KindEgg        Kind = "egg"        // EggData: an egg is placed in or moved to a box
	KindCandle     Kind = "candle"     // CandleData
	KindPip        Kind = "pip"        // EggEvent
	KindHatch      Kind = "hatch"      // HatchData
	KindSexed      Kind = "sexed"      // SexedData: how hatched animals turned out
	KindFail       Kind = "fail"       // FailData
	KindNote       Kind = "note"       // NoteData
	KindVoid       Kind = "void"       // VoidData: an earlier entry was wrong and does not count

	KindAcknowledged Kind = "acknowledged" // AlertData: someone has seen an alert
	KindShelved      Kind = "shelved"      // ShelvedData: someone has hidden an alert for a time
	KindUnshelved    Kind = "unshelved"    // AlertData: someone took it off the shelf
)

// PlaceData sets up or renames a place. For a place that is in the book
// already, an empty kind or name leaves the one it has.
type PlaceData struct {
	Place string               `json:"place"` // id, chosen once
	Kind  incubation.PlaceKind `json:"kind"`
	Name  string               `json:"name"`
	// Rack and Slot say where an enclosure stands in the round; a Slot of 0
	// leaves the one it has.
	Rack string `json:"rack,omitempty"`
	Slot int    `json:"slot,omitempty"`
	// Gone takes the place out of use; its history stays.
	Gone bool `json:"gone,omitempty"`
}

// StandData puts one place into another.
type StandData struct {
	Place string `json:"place"`
	In    string `json:"in"` // "" : taken out
}

// ProbeData puts a probe into a place.
type ProbeData struct {
	Probe    string              `json:"probe"`
	Place    string              `json:"place"` // "": taken out
	Position incubation.Position `json:"position,omitempty"`
	// AccuracyKelvin is from a calibration, two standard deviations; 0: the maker's.
	AccuracyKelvin float64 `json:"accuracy_kelvin,omitempty"`
	// OffsetKelvin is added to the raw value, in place of what a calibration
	// gave; 0: that stays.
	OffsetKelvin float64 `json:"offset_kelvin,omitempty"`
}

// SetpointData records what a thermostat was set to.
type SetpointData struct {
	Place   string             `json:"place"`
	Celsius incubation.Celsius `json:"celsius"`
}

// PlanData replaces the plan of an incubator or an egg; no steps: no plan.
type PlanData struct {
	Place string     `json:"place,omitempty"` // an incubator, or
	Egg   string     `json:"egg,omitempty"`   // an egg
	Steps []PlanStep `json:"steps"`
}

// A PlanStep is one change to come: at a time, or on a day after the laying
// (eggs only; day 20 is 20 times 24 hours after the middle of the laying
// interval). An incubator's step is a setpoint; an egg's a setpoint wherever
// it then lies, or a move to a box.
type PlanStep struct {
	At      time.Time          `json:"at,omitzero"`
	Day     float64            `json:"day,omitempty"`
	Celsius incubation.Celsius `json:"celsius,omitempty"`
	Box     string             `json:"box,omitempty"`
}

// LimitsData sets a place's own limits; a nil one leaves the rule's default.
// LowCelsius, HighCelsius and LowHumidityRatio hold by day, and whenever the
// night or the cooling season sets no other; see At.
type LimitsData struct {
	Place              string              `json:"place"`
	LowCelsius         *incubation.Celsius `json:"low_celsius,omitempty"`
	HighCelsius        *incubation.Celsius `json:"high_celsius,omitempty"`
	LowHumidityRatio   *float64            `json:"low_humidity_ratio,omitempty"`
	OffSetpointKelvin  *float64            `json:"off_setpoint_kelvin,omitempty"`
	OverSetpointKelvin *float64            `json:"over_setpoint_kelvin,omitempty"`
	Night              *NightLimits        `json:"night,omitempty"`
	Cooling            *CoolingLimits      `json:"cooling,omitempty"`
	// RuleOverrides change rules at this place, by code.
	RuleOverrides map[string]RuleOverride `json:"rule_overrides,omitempty"`
}

// ServiceData takes a place out of service for a time, not longer than
// MaxShelf, or has it back before that.
type ServiceData struct {
	Place string    `json:"place"`
	Until time.Time `json:"until,omitzero"`
	Why   string    `json:"why,omitempty"`
	Back  bool      `json:"back,omitempty"` // it is in service again; then no Until
}

// FemaleData names a female: an AnimalData in short, which older books hold.
type FemaleData struct {
	Female string `json:"female"` // id
	Name   string `json:"name"`
}

// LayingData records a clutch found: laid between From and To.
type LayingData struct {
	Clutch string    `json:"clutch"`
	Female string    `json:"female"`
	From   time.Time `json:"from"` // last looked, nothing there
	To     time.Time `json:"to"`   // found
	Place  string    `json:"place,omitempty"`
	Eggs   []EggName `json:"eggs"`
}

// EggName is a new egg's id and the mark on its shell.
type EggName struct {
	Egg  string `json:"egg"`
	Mark string `json:"mark"`
}

// EggData places or moves an egg.
type EggData struct {
	Egg string `json:"egg"`
	Box string `json:"box"`
}

// EggEvent is a dated event of one egg.
type EggEvent struct {
	Egg string `json:"egg"`
}

// CandleData is what the light showed.
type CandleData struct {
	Egg  string `json:"egg"`
	Seen string `json:"seen"` // "alive", "unsure", "dead"
	// Shows is incubation.Veins, Ring, Clear or Dark; "": not noted.
	Shows string `json:"shows,omitempty"`
}

// HatchData records a hatch. A sex seen that day is kept apart from one that
// was looked at later; see SexedData.
type HatchData struct {
	Egg string `json:"egg"`
	Sex string `json:"sex,omitempty"` // "male", "female", or not known
	// Grams is what the hatchling weighed; 0: it was not weighed.
	Grams float64 `json:"grams,omitempty"`
}

// SexedData records which sex hatched animals turned out to have: the animal
// of one egg, or animals of one clutch that were raised together, of which
// nobody knows any more which egg each came from. The latest about an egg, or
// about the mixed animals of a clutch, replaces those before it; one told by
// temperature never replaces what was seen on the animal.
type SexedData struct {
	Egg string `json:"egg,omitempty"`
	Sex string `json:"sex,omitempty"` // of the egg's animal: "male" or "female"
	// Clutch, or Egg. Males and Females count its mixed animals only: those
	// whose egg was sexed by itself are left out.
	Clutch  string `json:"clutch,omitempty"`
	Males   int    `json:"males,omitempty"`
	Females int    `json:"females,omitempty"`
	// How is incubation.ByAnatomy or incubation.ByTemperature.
	How incubation.SexedHow `json:"how"`
}

// FailData records a lost egg.
type FailData struct {
	Egg   string `json:"egg"`
	Cause string `json:"cause,omitempty"`
}

// NoteData is free text about something.
type NoteData struct {
	Subject string `json:"subject,omitempty"` // the id of a place, egg, clutch or female
	Text    string `json:"text"`
}

// VoidData takes back an earlier entry.
type VoidData struct {
	Entry uint64 `json:"entry"`
	Why   string `json:"why,omitempty"`
}

// AlertData says which alert a person did something about: acknowledged it, or
// took it off the shelf.
type AlertData struct {
	Alert      string `json:"alert"`      // its id
	Occurrence string `json:"occurrence"` // which activation of it
	Why        string `json:"why,omitempty"`
}

// ShelvedData says which alert was shelved, and until when; not for longer
// than MaxShelf.
type ShelvedData struct {
	AlertData
	Until time.Time `json:"until"`
}
