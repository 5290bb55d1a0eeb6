package review

import (
	"cmp"
	"slices"
	"time"

	"clutchd/incubation"
)

// SpermKeeps is how long before a laying a pairing may still have made its
// father: females of this species lay fertile clutches for months without
// another. Common practice, no source.
const SpermKeeps = 365 * 24 * time.Hour

// Weights of the dam are told from so long before a laying to so long after.
const (
	weighedBefore = 183 * 24 * time.Hour
	weighedAfter  = 61 * 24 * time.Hour
)

func (a Asked) dam(c *incubation.Clutch) Animal {
	return a.animal(c.Female, Span{c.Laid.From.Add(-weighedBefore), c.Laid.To.Add(weighedAfter)})
}

// animal tells what the book has of one; weights those within a span.
func (a Asked) animal(id string, within Span) Animal {
	out := Animal{ID: id, Name: a.Book.Name(id), Weights: []Weight{}}
	one := a.Book.Animals[id]
	if one == nil {
		return out
	}
	out.Hatched, out.AgeClass = one.Hatched, string(one.AgeClass)
	out.Dam, out.Sire = a.Book.Name(one.Dam), a.Book.Name(one.Sire)
	for _, w := range one.Weights {
		if within.covers(w.At) {
			out.Weights = append(out.Weights, Weight{w.At.UTC(), w.Grams})
		}
	}
	return out
}

// sires gives the males that the dam was with before the laying and did not
// refuse, the latest first.
func (a Asked) sires(c *incubation.Clutch) []Sire {
	out := []Sire{}
	laid := c.Laid.From.Add(c.Laid.To.Sub(c.Laid.From) / 2)
	for _, p := range slices.Backward(a.Book.Pairings) {
		if p.Female != c.Female || p.Outcome == incubation.Refused || !p.At.Before(c.Laid.To) ||
			laid.Sub(p.At) > SpermKeeps {
			continue
		}
		if i := slices.IndexFunc(out, func(s Sire) bool { return s.ID == p.Male }); i >= 0 {
			out[i].Times++
			continue
		}
		out = append(out, Sire{
			Animal: a.animal(p.Male, Span{}), Paired: p.At.UTC(), Outcome: p.Outcome, Times: 1,
			DaysBefore: thousandths(laid.Sub(p.At).Hours() / 24),
		})
	}
	slices.SortStableFunc(out, func(x, y Sire) int {
		return cmp.Or(y.Paired.Compare(x.Paired), cmp.Compare(x.ID, y.ID))
	})
	return out
}
