package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"clutchd/incubation"
)

// How many days before a laying a pairing may lie for its male to be the sire
// of that clutch. Eggs are fertilised when the follicles leave the ovary; from
// there to the laying two to three weeks pass (from memory), so what happened
// less than minBefore before came too late. Judgement.
const (
	minBefore  = 10
	likelyDays = 60 // the clutch that the pairing was for, and the next
)

// Sires gives the males that may have sired a clutch: every pairing of this
// season and the last that was accepted, or that nobody saw, before the eggs
// were fertilised. How long sperm keeps is told very differently, so none is
// ruled out for being old, and how likely is said in words.
func (h *Herd) Sires(clutch string) Parentage {
	out := Parentage{Clutch: clutch}
	c := h.state.Clutches[clutch]
	if c == nil {
		out.Says = "The book has no such clutch."
		return out
	}
	laid := middle(c.Laid)
	season := h.seasonAt(laid)
	last := h.seasonAt(season.From.AddDate(0, 0, -1))
	by, late := map[string][]Mating{}, 0
	if f := h.courses[c.Female]; f != nil {
		for _, p := range slices.Backward(f.pairings) {
			before := dayCount(laid.Sub(p.At))
			switch {
			case p.Outcome == incubation.Refused || before < 0 || p.At.Before(last.From):
			case before < minBefore:
				late++
			default:
				by[p.Male] = append(by[p.Male], Mating{
					Seq: p.Seq, DaysBefore: before, Seen: p.Outcome == incubation.Accepted,
					ThisSeason: season.Holds(p.At),
				})
			}
		}
	}
	for _, male := range sortedKeys(by) {
		out.Sires = append(out.Sires, h.possible(male, by[male]))
	}
	slices.SortStableFunc(out.Sires, func(a, b Possible) int {
		return cmp.Or(cmp.Compare(likelihood(a.Words), likelihood(b.Words)),
			cmp.Compare(a.Pairings[0].DaysBefore, b.Pairings[0].DaysBefore))
	})
	out.Says = h.parentage(out.Sires, late)
	return out
}

// The words for how likely a sire is, the likeliest first.
const (
	Likely   = "likely"
	Perhaps  = "possible"
	Unlikely = "unlikely"
)

func likelihood(words string) int { return slices.Index([]string{Likely, Perhaps, Unlikely}, words) }

// possible judges a male by his pairings, the newest first: likely where a
// mating was seen within the weeks before, unlikely where all of it lies in
// the last season.
func (h *Herd) possible(male string, ms []Mating) Possible {
	p := Possible{Male: male, Pairings: ms, Words: Unlikely}
	for _, m := range ms {
		switch {
		case m.Seen && m.DaysBefore <= likelyDays && m.ThisSeason:
			p.Words = Likely
		case m.ThisSeason && p.Words == Unlikely:
			p.Words = Perhaps
		}
	}
	first := ms[0]
	what := "a mating seen"
	if !first.Seen {
		what = "together, and nobody saw what came of it"
	}
	p.Why = fmt.Sprintf("%s %.0f days before the laying", what, first.DaysBefore)
	if !first.ThisSeason {
		p.Why += ", last season: sperm is kept, how long is not known well"
	}
	return p
}

// parentage says in a sentence what is known of a sire.
func (h *Herd) parentage(sires []Possible, late int) string {
	var out []string
	switch n := len(sires); {
	case n == 0:
		out = append(out, "No pairing before this clutch is in the book, this season or last.")
	case n == 1:
		out = append(out, fmt.Sprintf("%s is the only male in the book for it.", h.state.Name(sires[0].Male)))
	default:
		var names []string
		for _, s := range sires {
			names = append(names, h.state.Name(s.Male))
		}
		out = append(out, fmt.Sprintf("%s may each be the sire, and the eggs of one clutch may have different ones.",
			or(names)))
	}
	if late > 0 {
		out = append(out, fmt.Sprintf("%s too late for it: its eggs had their shells by then.",
			count(late, "pairing came", "pairings came")))
	}
	return strings.Join(out, " ")
}
