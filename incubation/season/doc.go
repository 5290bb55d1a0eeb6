// Package season is the thinking behind the keeper's season: how each female's
// rhythm runs, what is due today and this week and why, whom to pair and whom
// not, who may be a clutch's sire, how past seasons went, and what the weeks
// to come will bring.
//
// It is pure and writes nothing: everything follows from the book's state, a
// time and Options. It is no vet: what it calls a vet's matter it only sends
// there. Times are UTC, days are days in the keeper's zone, weights are grams.
// What nobody measured stands in Assumptions with its mark, and gives way to
// what the book tells of the female and the herd.
//
// How to ask:
//
//	h := season.Look(state, now, season.Options{Zone: zone, Hatch: windows})
//	h.Due()                    // []Item: what is due, in the order of a round
//	h.Rhythm("saffron")        // her intervals, her next laying, her season
//	h.Pairable("saffron", "x") // Verdict: gates, kin, warnings
//	h.Males("saffron")         // []Verdict: every male for her, the best first
//	h.Kin("a", "b")            // Kinship: coefficient of relationship
//	h.Sires("saffron-3")       // Parentage: possible sires by date
//	h.Fertility()              // per pairing, male, female and season, with n
//	h.Ahead(season.Span{})     // Forecast: layings, boxes, hatchlings per week
//	season.Assumptions()       // the starting values, with their marks
//	season.Differences()       // where practice and paper differ, as sentences
//
// Look reads the whole state once; a Herd is not changed afterwards and may be
// asked by several at a time.
package season
