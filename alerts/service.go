package alerts

// Maintained says whether a rule goes on speaking of a place that is out of
// service, and of the probes and contacts there.
type Maintained string

// How rules keep a place that someone works on.
const (
	Unjudged Maintained = ""                     // not judged: whoever works there knows
	OverEggs Maintained = "while eggs lie in it" // the same, but live eggs cannot wait
	Always   Maintained = "always"               // what is dangerous to whoever works there
)

// Judges reports whether the rule is judged of a place out of service.
func (k Maintained) Judges(eggs bool) bool { return k == Always || k == OverEggs && eggs }
