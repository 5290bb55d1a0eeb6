package alerts

import "time"

// An Observation is what a rule is judged by at one moment.
type Observation struct {
	Subject Subject
	// Known is false when there is no believable value. Then the state is
	// held: nothing is raised or cleared, and the delays stand still.
	Known bool
	// Value is compared with Low and High if one of them is set; without
	// either, Beyond is the condition. With a limit but no value, or with one
	// that is no number, nothing is known.
	Value     *float64
	Low, High *float64
	Beyond    bool
	// Deadband replaces the rule's own, if above zero.
	Deadband float64
	// Steady keeps a condition from beginning though the value is beyond its
	// limit: too-cool, when it is no longer falling. It does not end one that
	// was raised.
	Steady bool
	// Waiting is set while the place settles. It counts for rules that settle:
	// nothing begins or is raised then; an end is an end.
	Waiting bool
	// Severity replaces the rule's own, if set, whether there are eggs or not.
	Severity Severity
	Eggs     []string // ids of the live eggs that it touches
	Causes   []Cause  // the alerts that it lies behind, by the rule's Behind
	// NewID gives an id never used before. It must be set; it is called only
	// when the alert is raised.
	NewID func() string
	// Began is when the value came to where it is, where it had to be borne out
	// first; zero: now. Delays that begin are counted from then.
	Began time.Time

	// Explains is the value that stands for the subject where what lies behind
	// it is compared with it; nil: Value.
	Explains *float64

	// For the text.
	Text     string   // replaces the rule's own words, if set
	Marks    []string // of the eggs, for people; none: their ids
	Setpoint *float64
	Boxes    []string // with eggs, that stand in it, for people
	ByBoxes  bool     // the value was measured in these boxes
	Place    string   // where a probe or an egg is, for people
	Detail   string   // a sentence that only the observer knows
	Scale    Scale
}

// tiny keeps sums of decimal limits from missing a value that is equal.
const tiny = 1e-9

// condition is what an observation means for a rule.
type condition uint8

const (
	gone    condition = iota
	holds             // beyond its limit
	unknown           // no believable value
	waits             // beyond its limit, but the place settles or a cause tells it
)

// condition is asked once it is known whether the observation is hidden.
func (m moment) condition(s State) condition {
	r, o := m.rule, m.seen
	switch {
	case r.severity(o) == "":
		return gone // nothing is at stake, whatever the value
	case !o.Known:
		return unknown
	case !o.beyond(s.outside(), o.deadband(r)), o.Steady && !s.Told():
		return gone
	case o.Waiting && r.Settles, m.behind:
		return waits
	}
	return holds
}

// Begins reports whether the observation would begin anything for an alert that
// is normal, causes left aside. Where it would not, Judge changes nothing.
func (r Rule) Begins(o Observation) bool {
	m := moment{rule: r, seen: o.sane()}
	return m.condition(State{}) == holds
}

func (o Observation) deadband(r Rule) float64 {
	if o.Deadband > 0 && finite(o.Deadband) {
		return o.Deadband
	}
	return r.Deadband
}

// sane turns a value that cannot be judged into none.
func (o Observation) sane() Observation {
	o.Low, o.High, o.Value = number(o.Low), number(o.High), number(o.Value)
	if o.Value == nil && (o.Low != nil || o.High != nil) {
		o.Known = false
	}
	return o
}

func number(v *float64) *float64 {
	if v == nil || !finite(*v) {
		return nil
	}
	return v
}

// beyond compares the value with its limits, or, if it was beyond before,
// with the limits drawn in by the deadband.
func (o Observation) beyond(before bool, deadband float64) bool {
	if o.Low == nil && o.High == nil {
		return o.Beyond
	}
	return o.crossed() || before && o.excess()+deadband > tiny
}

// crossed reports whether the value is at its upper limit or past one.
func (o Observation) crossed() bool {
	return o.High != nil && *o.Value >= *o.High-tiny ||
		o.Low != nil && *o.Value < *o.Low-tiny
}

// excess is how far the value is past the nearer of its limits; negative: how
// far within.
func (o Observation) excess() float64 {
	switch {
	case o.Low == nil:
		return *o.Value - *o.High
	case o.High == nil:
		return *o.Low - *o.Value
	}
	return max(*o.Value-*o.High, *o.Low-*o.Value)
}

// limit is the one that the value is past, or nearer to.
func (o Observation) limit() *float64 {
	switch {
	case o.Low == nil || o.Value == nil:
		return o.High
	case o.High == nil || *o.Low-*o.Value > *o.Value-*o.High:
		return o.Low
	}
	return o.High
}

// worse reports whether value a is further past the limits than b.
func (o Observation) worse(a, b float64) bool {
	if o.Low == nil && o.High == nil {
		return a > b
	}
	first, second := o, o
	first.Value, second.Value = &a, &b
	return first.excess() > second.excess()
}
