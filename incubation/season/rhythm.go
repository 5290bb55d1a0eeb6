package season

import "time"

// A Rhythm is how a female's year runs, as far as the book tells it.
type Rhythm struct {
	Female string
	// Season is the one that now lies in, Clutches how many she laid in it.
	Season   Season
	Clutches int
	// Interval is from one clutch to the next, Cycle from one cycle to the
	// next while unbred, Gravid from white eggs to the laying, Pause from a
	// resorption to the next follicles.
	Interval, Cycle, Gravid, Pause Learned
	// Opens is when her season begins: this one's, or the next one's once she
	// has begun this one or its time is past.
	Opens Opening
	// Next is the laying that is expected; nil: none is.
	Next *Expected
}

// A Learned is a length of time learned for one female: from her own, from the
// herd where she has few, from the starting value where the herd has few.
type Learned struct {
	Days float64 // the likeliest next one
	// Low and High hold the next one with Probability.
	Low, High   float64
	Probability float64
	SD          float64 // of the next one
	Own, Herd   int     // how many of hers, and of the others, it rests on
	Start       string  // key of the starting value
	Says        string  // "3 of her own, 21 of the herd"
}

// An Opening is when a female's season begins.
type Opening struct {
	From, Likely, By time.Time
	Look             time.Time // begin to look: earlier than the last years
	Begun            time.Time // when this season began for her; zero: not yet
	Own, Herd        int       // past years
	Says             string
}

// An Expected is a laying to come.
type Expected struct {
	// From and By hold it with Probability, if there is one.
	From, Likely, By time.Time
	Probability      float64
	// Comes is the chance that there is one at all.
	Comes float64
	// Past: the whole window lies behind and no laying is in the book. That
	// alone neither reassures nor alarms.
	Past bool
	// Rests says what it goes by, as a sentence.
	Rests string
}

// A Season is one breeding year, named for the year in which its middle lies.
type Season struct {
	Name     string // "2026"
	From, To time.Time
}

// Holds reports whether t lies in the season.
func (s Season) Holds(t time.Time) bool { return !t.Before(s.From) && t.Before(s.To) }
