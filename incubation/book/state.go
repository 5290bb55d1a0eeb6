package book

import (
	"time"

	"clutchd/incubation"
)

// A State is the room as the book tells it: every entry folded. Maps are by
// id. It is built by Fold and not changed afterwards: whoever holds one may
// read it without a lock.
type State struct {
	Places     map[string]*incubation.Place
	Gone       map[string]bool          // places out of use
	Placements []incubation.Placement   // all, in order of From, those that ended too
	Contacts   []incubation.ContactStay // all, in order of From, those that ended too
	// Calibrations is what was found of each probe when it was last compared.
	Calibrations map[string]incubation.Calibration
	Setpoints    map[string][]Setpoint // by place, in order
	Plans        map[string][]PlanStep // by incubator or egg id: the plan in force
	Limits       map[string]LimitsData // by place: the limits in force
	Services     map[string][]Service  // by place, in order: when it was out of service
	Animals      map[string]*incubation.Animal
	Pairings     []incubation.Pairing // all, in order
	// Gates are what the keeper wants of a female before she is paired; nil:
	// the starting values hold.
	Gates    *GatesData
	Season   SeasonData // the zero value: northern, no daily message
	Clutches map[string]*incubation.Clutch
	Eggs     map[string]*incubation.Egg
	Notes    []Note
	// Placed is when an egg was last put into this box, or the box moved, by
	// place: what settling is judged by.
	Placed map[string]time.Time
	// LastSeq is the highest sequence folded.
	LastSeq uint64
	// Entries is every entry folded, voided and skipped ones too, by event
	// time and sequence.
	Entries []Entry
	// Voided holds the sequences of entries that were taken back.
	Voided map[uint64]bool
	// Problems says of each entry that makes no sense where it lands why it
	// does not count; Skipped holds their sequences, in the same order.
	Problems []string
	Skipped  []uint64

	lines []read // of Entries, in the same order
}

// A Setpoint is what a thermostat aimed at from a time on.
type Setpoint struct {
	From    time.Time
	Celsius incubation.Celsius
}

// A Note is a remark in the book.
type Note struct {
	At      time.Time
	Subject string
	Text    string
}

// Name gives an animal's name, or its id where it has none.
func (s *State) Name(animal string) string {
	if a := s.Animals[animal]; a != nil && a.Name != "" {
		return a.Name
	}
	return animal
}
