package web

import "clutchd/incubation"

// The words that pages have for what is seen of animals, eggs and hatchlings.

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
