package incubation

import "fmt"

// Quality says how far a reading is to be believed. Its zero value is Good.
// A value that is not believable at all is no reading: it is a fault. A
// reading of any quality stays in the record, marked.
type Quality uint8

// The qualities a reading may have. Values are stored: append, never reorder.
const (
	Good        Quality = iota
	Saturated           // humidity at or above 100 %: condensation, not a broken chip
	Suspect             // believable, but something argues against it: counts less
	Frozen              // has not moved for longer than this sensor can stay still
	Jumped              // came to where it is faster than air can
	Spiked              // alone among its neighbours in time
	Drifting            // its probe leaves what lies beside it, day by day
	Disagreeing         // its probe and another cannot both be right
	Slipped             // its probe no longer measures where the book has it
	Swapped             // its probe seems to lie where another belongs
)

var qualityNames = [...]string{
	Good: "good", Saturated: "saturated", Suspect: "suspect", Frozen: "frozen",
	Jumped: "jumped", Spiked: "spiked", Drifting: "drifting", Disagreeing: "disagreeing",
	Slipped: "slipped", Swapped: "swapped",
}

// Qualities gives every quality, in the order of their stored values.
func Qualities() []Quality {
	out := make([]Quality, len(qualityNames))
	for i := range out {
		out[i] = Quality(i)
	}
	return out
}

// String gives the word used in payloads and on pages.
func (q Quality) String() string {
	if int(q) < len(qualityNames) {
		return qualityNames[q]
	}
	return fmt.Sprintf("quality-%d", uint8(q))
}

// MarshalText gives the word of String.
func (q Quality) MarshalText() ([]byte, error) { return []byte(q.String()), nil }

// UnmarshalText accepts the words that MarshalText writes.
func (q *Quality) UnmarshalText(text []byte) error {
	for i, name := range qualityNames {
		if name == string(text) {
			*q = Quality(i)
			return nil
		}
	}
	return fmt.Errorf("quality %q is not one of %q", text, qualityNames)
}

// Doubtful reports whether the temperature counts less than another's. One of
// a later version of the program counts as doubtful.
func (q Quality) Doubtful() bool { return q.Doubt() > 0 }

// Broken reports whether the value is no measurement of its place any more,
// rather than one that is less exact: it stands back behind any other probe
// that speaks for the same eggs, one in the air around their box too.
func (q Quality) Broken() bool { return q.Doubt() > brokenFrom }

// brokenFrom lies between what a probe may be off that still follows its
// place, and one that does not, K. Judgement.
const brokenFrom = 1.5

// Doubt is how far the temperature may be off beside what its sensor may be
// off anyway, K, two standard deviations; 0: no more. Judgement, all of them:
// what a probe was found to be off when it was found out (drift, disagreement),
// the difference between neighbouring boxes (swapped), or what an incubator
// may do while nothing measures it (the rest).
func (q Quality) Doubt() float64 {
	switch q {
	case Good, Saturated:
		return 0
	case Suspect:
		return 0.5
	case Drifting, Disagreeing, Swapped:
		return 1
	case Frozen, Slipped:
		return 2
	}
	return 3
}
