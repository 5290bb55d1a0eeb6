package incubation

import "math"

const (
	// movesBy is how much of the chance of a male makes a change worth making.
	movesBy = 0.10
	// halvings is how closely the last day of a change is sought: the TSP's
	// rest by a sixty-fourth.
	halvings = 6
)

// lastChange is the last day on which some other temperature, held from then
// on, still moves a member's chance of a male by movesBy; infinite where none
// does even now. The futures behind the first are the holds.
func (o *outlook) lastChange(w *walk, i int, base float64) float64 {
	planned := o.fates[0][i].chance
	best, most := 0.0, movesBy
	for f := 1; f < len(o.futures) && f <= holds; f++ {
		if by := math.Abs(o.fates[f][i].chance - planned); by >= most {
			best, most = o.futures[f][0].celsius, by
		}
	}
	if best == 0 || w.closes != 0 {
		return math.Inf(1)
	}
	from, to := o.now, o.members[i].closes
	if to == 0 {
		to = o.now + horizon
	}
	for range halvings {
		middle := (from + to) / 2
		e := o.see(w, o.futures[0].then(middle, best), i)
		if math.Abs(e.judge(w.m, e.tally(w, base, false))-planned) >= movesBy {
			from = middle
		} else {
			to = middle
		}
	}
	return from
}
