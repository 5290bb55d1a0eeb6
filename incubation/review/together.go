package review

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// Together groups eggs that always lay together, but for the time it takes to
// carry them one by one, and for one that ended before the other. Groups and
// their eggs stay in order.
func Together(eggs []*incubation.Egg) [][]*incubation.Egg {
	var out [][]*incubation.Egg
next:
	for _, e := range eggs {
		for i, group := range out {
			if lay(group[0], e) {
				out[i] = append(group, e)
				continue next
			}
		}
		out = append(out, []*incubation.Egg{e})
	}
	return out
}

// lay reports whether two eggs lay together for as long as both were there.
func lay(a, b *incubation.Egg) bool {
	n := min(len(a.Stays), len(b.Stays))
	if n == 0 {
		return len(a.Stays) == len(b.Stays)
	}
	if len(a.Stays) != len(b.Stays) && (ending(a) || ending(b)) {
		// The one that ended first may lack stays that came after its end.
		short, long := a, b
		if len(a.Stays) > len(b.Stays) {
			short, long = b, a
		}
		if !ending(short) || long.Stays[n].From.Before(short.Ended.Add(-carried)) {
			return false
		}
	} else if len(a.Stays) != len(b.Stays) {
		return false
	}
	for i := range n {
		if !near(a.Stays[i].From, b.Stays[i].From) || a.Stays[i].Place != b.Stays[i].Place {
			return false
		}
		if i < n-1 && !near(a.Stays[i].To, b.Stays[i].To) {
			return false
		}
	}
	return true
}

func ending(e *incubation.Egg) bool { return !e.Live() && !e.Ended.IsZero() }

// carried is how far apart two eggs of a clutch may be carried and still count
// as together. Judgement.
const carried = time.Hour

func near(a, b time.Time) bool { return a.IsZero() == b.IsZero() && a.Sub(b).Abs() <= carried }

// longest gives the egg of a group that lay longest.
func longest(group []*incubation.Egg) *incubation.Egg {
	return slices.MaxFunc(group, func(a, b *incubation.Egg) int {
		switch {
		case a.Live() == b.Live():
			return a.Ended.Compare(b.Ended)
		case a.Live():
			return 1
		}
		return -1
	})
}
