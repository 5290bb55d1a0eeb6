package web

import (
	"time"

	"clutchd/incubation"
)

// condition is what is known of a female's belly: her last check, or that she has
// laid since; nil: nothing.
func (v *visit) condition(a *incubation.Animal) *incubation.Check {
	if v.laid == nil {
		v.laid = map[string]time.Time{}
		for _, c := range v.snap.Book.Clutches {
			if c.Laid.To.After(v.laid[c.Female]) {
				v.laid[c.Female] = c.Laid.To
			}
		}
	}
	last := a.Last()
	if at := v.laid[a.ID]; !at.IsZero() && (last == nil || at.After(last.At)) {
		return &incubation.Check{At: at, Stage: incubation.Laid}
	}
	return last
}

func stageWord(s incubation.Stage) string {
	switch s {
	case incubation.Laid:
		return "has laid"
	case incubation.Resorbed:
		return "follicles resorbed"
	case incubation.Unsure:
		return "not sure"
	}
	return string(s)
}

func sidesWord(s string) string {
	switch s {
	case incubation.NoSide:
		return "on no side"
	case incubation.OneSide:
		return "on one side"
	case incubation.BothSide:
		return "on both sides"
	}
	return s
}

func signWord(s incubation.Sign) string {
	switch s {
	case incubation.RedBelly:
		return "reddened belly"
	case incubation.NotEating:
		return "not eating"
	}
	return string(s)
}

func receptionWord(r incubation.Reception) string {
	switch r {
	case incubation.Accepted:
		return "accepted"
	case incubation.Refused:
		return "refused"
	}
	return "nobody saw what came of it"
}

func milestoneWord(what string) string {
	switch what {
	case incubation.YolkIn:
		return "yolk taken up"
	case incubation.FirstShed:
		return "first shed"
	case incubation.FirstMeal:
		return "first meal"
	}
	return what
}

func showsWord(what string) string {
	switch what {
	case incubation.Veins:
		return "veins"
	case incubation.Ring:
		return "a ring of blood"
	case incubation.Clear:
		return "clear"
	case incubation.Dark:
		return "dark"
	}
	return what
}
