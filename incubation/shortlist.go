package incubation

import (
	"cmp"
	"math"
	"slices"
)

// shortlist gives the candidates that are worth a look, best first.
func (w Wish) shortlist(all []Proposal) []Proposal {
	slices.SortStableFunc(all, func(a, b Proposal) int {
		return cmp.Or(cmp.Compare(a.work(), b.work()), better(a, b))
	})
	var kept []Proposal
	for _, p := range all {
		if !slices.ContainsFunc(kept, func(k Proposal) bool { return w.spares(k, p) }) {
			kept = append(kept, p)
		}
	}
	slices.SortStableFunc(kept, better)
	if len(kept) > mostProposals {
		if i := slices.IndexFunc(kept, stays); i >= mostProposals {
			kept[mostProposals-1] = kept[i]
		}
		kept = kept[:mostProposals]
	}
	for i := range kept {
		kept[i].Behind = kept[0].Odds - kept[i].Odds
		kept[i].Why = w.why(kept, i)
	}
	return kept
}

// better puts the better odds first; of equal ones the better chance, then
// fewer moves, then the earlier hatch.
func better(a, b Proposal) int {
	return cmp.Or(cmp.Compare(b.Odds, a.Odds), cmp.Compare(points(b.chance), points(a.chance)),
		cmp.Compare(a.Moves, b.Moves), sooner(a, b))
}

// points rounds a share to whole percents: what lies beyond, nobody can tell.
func points(share float64) float64 { return math.Round(100*share) / 100 }

// sooner puts the earlier hatch first, and last one that is not to be told.
func sooner(a, b Proposal) int {
	x, y := a.Hatch.Likely, b.Hatch.Likely
	if x.IsZero() != y.IsZero() {
		return cmp.Compare(y.Unix(), x.Unix())
	}
	return x.Compare(y)
}

// work is what a plan asks of the keeper: its moves, and to remember a day.
func (p Proposal) work() int { return p.Moves + len(p.Stays) - 1 }

func stays(p Proposal) bool { return p.Moves == 0 }

// spares reports whether one proposal makes another needless: less work for
// as good a chance, or the same places on a better day. Of two temperatures in
// turn the edge can be better and the chance not, as errors then weigh against
// each other; but the eggs that the estimate is from were kept at one. Without
// a wish it is the same chance and the same day of hatching that make another
// needless.
func (w Wish) spares(one, other Proposal) bool {
	if w == AnySex {
		return one.Moves < other.Moves && one.same(other)
	}
	if one.work() < other.work() {
		same := one.Odds >= other.Odds-sameOdds && one.chance >= other.chance-sameOdds
		return same || one.chance >= other.chance
	}
	return one.Moves == other.Moves && len(one.Stays) == len(other.Stays) &&
		slices.EqualFunc(one.Stays, other.Stays, func(a, b Stay) bool { return a.Place == b.Place })
}

func (p Proposal) same(o Proposal) bool {
	near := func(a, b float64) bool { return math.Abs(a-b) <= sameOdds }
	return near(p.Sex.MaleProbability, o.Sex.MaleProbability) && near(p.Sex.Low, o.Sex.Low) &&
		near(p.Sex.High, o.Sex.High) && p.Hatch.Likely.Sub(o.Hatch.Likely).Abs().Hours() <= 24
}

// why is the reason for the i-th of the list.
func (w Wish) why(list []Proposal, i int) Reason {
	p := list[i]
	fewer := func(o Proposal) bool { return o.Moves <= p.Moves }
	switch {
	case stays(p) && (w == AnySex || len(list) == 1):
		return ForStaying
	case w == AnySex:
		return ForShowing
	case i == 0:
		return ForOdds
	case stays(p):
		return ForStaying
	case !slices.ContainsFunc(list[:i], fewer):
		return ForMoves
	case len(p.Stays) > p.Moves:
		return ForWaiting
	}
	return ForAnother
}
