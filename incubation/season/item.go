package season

import (
	"time"

	"clutchd/incubation"
)

// An Item is one thing that is due.
type Item struct {
	// Key stays the same as long as the same thing is due.
	Key  string
	Kind Kind
	// Animals are whom it is about: of a pairing the female first, then the
	// males to try, the best first.
	Animals []string
	Clutch  string
	Eggs    []string
	Place   string // where to go: an enclosure, a lay box, a box or an incubator; "" unknown
	// From is when it falls due, By when it is late. Starts of days in the
	// keeper's zone, UTC.
	From, By time.Time
	Urgency  Urgency
	// Do is what to do, in a few words: "Look at Saffron's belly". Why is the
	// reason, from facts: "Follicles large on both sides on 12 March, 4 days
	// ago: look again within the week."
	Do, Why string
	// Rests are the keys of the starting values behind it.
	Rests []string
}

// Kind is what kind of thing is due.
type Kind string

// The kinds, in the order in which Due gives them at one place.
const (
	Vet        Kind = "vet"
	Treat      Kind = "treat"
	Check      Kind = "check"
	Pair       Kind = "pair"
	LayBox     Kind = "lay-box" // look into it
	Clutch     Kind = "clutch"  // a laying is expected
	Weigh      Kind = "weigh"   // an animal
	Quarantine Kind = "quarantine"
	Hatch      Kind = "hatch" // look daily
	PlanStep   Kind = "plan"
	Candle     Kind = "candle"
	Air        Kind = "air"
	WeighBox   Kind = "weigh-box"
	Sex        Kind = "sex"
)

// Kinds gives every kind, in their order.
func Kinds() []Kind {
	return []Kind{
		Vet, Treat, Check, Pair, LayBox, Clutch, Weigh, Quarantine, Hatch, PlanStep, Candle, Air, WeighBox, Sex,
	}
}

// Urgency is how soon it wants doing.
type Urgency string

// The urgencies.
const (
	Now      Urgency = "now"     // a vet's matter
	Overdue  Urgency = "overdue" // it was due before today
	Today    Urgency = "today"
	ThisWeek Urgency = "this-week" // within the six days after today
)

// Options is what the book does not tell. The zero value: UTC, no estimates.
type Options struct {
	Zone *time.Location
	// Hatch holds the hatch windows of live eggs, by egg id, as estimated.
	Hatch map[string]incubation.HatchSpan
	// Day writes a date for a sentence; nil: "2 January".
	Day func(time.Time) string
	// Temperature writes one; nil: "31.0 °C".
	Temperature func(incubation.Celsius) string
}
