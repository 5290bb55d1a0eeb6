package web

import (
	"clutchd/incubation/book"
)

// periodWord says which of a place's limits are in force; "" where it has one
// pair only, and by day.
func periodWord(p book.Period) string {
	word := ""
	switch {
	case p.Cooling:
		word = "the limits of the cooling season"
	case p.Night:
		word = "the limits of the night"
	}
	switch {
	case p.Settles && word != "":
		return word + ", and those of before until it has followed"
	case p.Settles:
		return "the limits of the day, and those of before until it has followed"
	}
	return word
}

// ownLines tell what a place has of its own besides the limits of the day.
func (v *visit) ownLines(place string) []fact {
	t, d := v.teller(), v.snap.Book.Limits[place]
	var out []fact
	for _, said := range t.periodsSay(d) {
		out = append(out, fact{"Limits", said})
	}
	for _, said := range t.overridesSay(d.RuleOverrides) {
		out = append(out, fact{"Rule", said})
	}
	return out
}

// A periodJSON says which of a place's own limits are in force.
type periodJSON struct {
	Night   bool `json:"night,omitempty"`
	Cooling bool `json:"cooling,omitempty"`
	Settles bool `json:"settles,omitempty"`
}

func periodOf(p book.Period) *periodJSON {
	if !p.Night && !p.Cooling && !p.Settles {
		return nil
	}
	return &periodJSON{p.Night, p.Cooling, p.Settles}
}
