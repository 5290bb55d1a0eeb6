package alerts

import (
	"math"
	"time"
)

// A Rule says when something is worth telling, how loudly, and why. Rules
// declares them all.
type Rule struct {
	Code     string // never changes: it is part of topics and of stored states
	Title    string
	About    SubjectKind
	Severity Severity
	// Empty is the severity where no live egg is touched; "": the rule is not
	// judged there. Rules about no place give their severity again.
	Empty    Severity
	Limit    Limit
	Unit     string // of value, limit and deadband: "celsius", "ratio", "seconds" or ""
	Deadband float64
	OnDelay  time.Duration // the condition must hold as long before it is told
	OffDelay time.Duration // and be gone as long before that is
	Latching bool          // stays active until acknowledged
	Settles  bool          // waits while its place settles
	Event    bool          // the end of it is no news
	Rises    []Rise        // how it grows more severe as it lasts
	Behind   []Behind      // whose message says it already
	Flaps    Flapping      // when it comes and goes; zero: as flapping says
	// Maintained: whether it is judged while its place is out of service.
	Maintained Maintained
	Text       Text
	Why        string // why this limit and these delays, for the keeper
	Mark       Mark   // what Why rests on
}

// Text is what a rule says, with placeholders in braces; see Say.
type Text struct {
	Now   string // while it lasts: what, where, how bad, how long
	First string // what to do first
	Over  string // once it is over; an event has none and keeps what it said
}

// Mark says what a number rests on.
type Mark string

// The marks, strongest first.
const (
	Published      Mark = "published"
	Derived        Mark = "derived"
	Judgement      Mark = "judgement, no published value"
	CommonPractice Mark = "common practice, no source"
)

// Base says what a limit is counted from.
type Base string

// The bases of a limit.
const (
	NoLimit      Base = ""         // a yes/no condition: Observation.Beyond
	Fixed        Base = "fixed"    // Above and Below are the limits
	FromSetpoint Base = "setpoint" // Above and Below are differences from the setpoint, K
	Own          Base = "own"      // the place's own limits; without one it is not judged
	Given        Base = "given"    // the observation brings it
)

// A Limit is where a rule's condition begins. Above or Below zero: it has no
// such side.
type Limit struct {
	Base  Base
	Above float64
	Below float64
	// Book is the field of the book's limits that replaces Above and Below,
	// or, with Own, that is the limit.
	Book BookLimit
}

// BookLimit names one of a place's own limits, as the book does.
type BookLimit string

// The limits that a keeper may set for a place.
const (
	LowCelsius         BookLimit = "low_celsius"
	HighCelsius        BookLimit = "high_celsius"
	LowHumidityRatio   BookLimit = "low_humidity_ratio"
	OffSetpointKelvin  BookLimit = "off_setpoint_kelvin"
	OverSetpointKelvin BookLimit = "over_setpoint_kelvin"
)

// Bounds gives the rule's limits for a place: nil where it has none. setpoint
// is nil if none is known, own holds what the book says of the place. A
// difference from the setpoint that is not above zero is not taken.
func (r Rule) Bounds(setpoint *float64, own map[BookLimit]float64) (low, high *float64) {
	above, below := r.Limit.Above, r.Limit.Below
	mine, set := own[r.Limit.Book]
	set = set && r.Limit.Book != "" && finite(mine)
	switch r.Limit.Base {
	case Fixed:
		if set {
			above, below = replaced(above, mine), replaced(below, mine)
		}
		return side(below, below), side(above, above)
	case FromSetpoint:
		if setpoint == nil || !finite(*setpoint) {
			return nil, nil
		}
		if set && mine > 0 {
			above, below = replaced(above, mine), replaced(below, mine)
		}
		return side(below, *setpoint-below), side(above, *setpoint+above)
	case Own:
		switch {
		case set && r.Limit.Book == HighCelsius:
			return nil, &mine
		case set:
			return &mine, nil
		}
	}
	return nil, nil
}

// replaced gives the book's value for a side that the rule has.
func replaced(v, mine float64) float64 {
	if v == 0 {
		return 0
	}
	return mine
}

// side gives limit, or nil if the rule has no such side.
func side(has, limit float64) *float64 {
	if has == 0 {
		return nil
	}
	limit = shown(limit)
	return &limit
}

// shown cuts what adding leaves behind the third decimal: 31.2, not
// 31.200000000000003.
func shown(v float64) float64 { return math.Round(v*1000) / 1000 }

// Condition gives the rule's limit in words, "" where it has none of its own:
// "under 22.0 °C", "1.5 over the setpoint".
func (r Rule) Condition(scale Scale) string {
	l := r.Limit
	switch {
	case l.Base == Fixed && l.Above != 0:
		return Amount(l.Above, r.Unit, scale) + " or more"
	case l.Base == Fixed:
		return "under " + Amount(l.Below, r.Unit, scale)
	case l.Base == FromSetpoint && l.Above != 0 && l.Below != 0:
		return Difference(l.Above, scale) + " over or under the setpoint"
	case l.Base == FromSetpoint && l.Above != 0:
		return Difference(l.Above, scale) + " over the setpoint"
	case l.Base == FromSetpoint:
		return Difference(l.Below, scale) + " under the setpoint"
	case l.Base == Own && l.Book == HighCelsius:
		return "the place's own upper limit"
	case l.Base == Own:
		return "under the place's own lower limit"
	}
	return ""
}

// severity is how loudly to tell of the observation; "": not at all.
func (r Rule) severity(o Observation) Severity {
	switch {
	case o.Severity != "":
		return o.Severity
	case len(o.Eggs) == 0:
		return r.Empty
	}
	return r.Severity
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// RuleFor gives the rule with this code.
func RuleFor(code string) (Rule, bool) {
	for _, r := range Rules() {
		if r.Code == code {
			return r, true
		}
	}
	return Rule{}, false
}
