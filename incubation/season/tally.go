package season

import "time"

// A Tally counts eggs and what became of them.
type Tally struct {
	Clutches, Eggs int
	Fertile        int            // vessels seen, or hatched
	Clear          int            // seen clear, and failed or still clear
	Hatched        int            //
	Failed         int            // all that failed, clear ones too
	Causes         map[string]int // of failure, as written down; "" where none was
	Open           int            // still in incubation
}

// A Fertility is how clutches went: in all, and by who had them.
type Fertility struct {
	Seasons  []SeasonTally // oldest first
	Females  []Named       // by id
	Males    []Named       // by id; only clutches with one possible sire count
	Pairs    []Named       // by female and male; as Males
	Shared   int           // clutches with several possible sires, in no male's count
	Sireless int           // clutches before which no pairing is in the book
}

// A Named is a tally of one animal, or of a female and a male.
type Named struct {
	Female, Male string
	Tally
}

// A SeasonTally is one season's.
type SeasonTally struct {
	Season Season
	Tally
	Females     int     // that laid
	Pairings    int     // accepted or unseen
	Refusals    int     //
	Resorptions int     // females that resorbed
	FirstLaid   float64 // days after the season's beginning; of the herd's first clutch
	Interval    float64 // mean between clutches, days; 0: none
	Intervals   int     // n behind it
	// Pauses are the gaps between two clutches that are longer than
	// PauseInLaying: a clutch was missed, or she paused. Interval leaves them
	// out.
	Pauses int
}

// A Span is how far ahead to look, and how often to throw the dice.
type Span struct {
	Weeks int    // 0: 26
	Runs  int    // 0: 300
	Seed  uint64 // the same seed gives the same forecast
	// Capacity is how many boxes the incubators take; 0: as many as the book
	// has that stand in one.
	Capacity int
}

// A Forecast is the season ahead, from runs of every female's rhythm.
type Forecast struct {
	Weeks    []Week
	Capacity int // boxes; 0: the book knows none
	// Full is the first week in which more than half of the runs need every box
	// and more; zero: none. MayBeFull, in which one in ten does.
	Full, MayBeFull time.Time
	Layings         Range // in all
	Eggs            Range
	Hatchlings      Range
	Rests           string // what it goes by
}

// A Week is one week of it, from the start of a day.
type Week struct {
	From       time.Time
	Layings    Range
	Boxes      Range // occupied at its fullest
	Hatchlings Range
}

// A Range is a middle with the band that 80 of 100 runs lie in.
type Range struct{ Low, Middle, High float64 }
