package web

import (
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// A Planner says what plans for a live egg would give, and writes nothing
// down. Its errors are *monitor.Refusal. It may be asked from several
// goroutines.
type Planner interface {
	// Propose makes plans of the boxes there are for the sex that is wanted.
	Propose(egg string, want incubation.Wish) (incubation.Proposals, error)
	// Consider gives the egg's estimate, and in Answer.Plans what each of the
	// plans would give in place of the one in force.
	Consider(egg string, plans ...[]incubation.Step) (incubation.Answer, error)
}

var _ Planner = (*monitor.Monitor)(nil)

// eggOf finds an egg of the snapshot, and its clutch.
func eggOf(snap *monitor.Snapshot, id string) (*monitor.ClutchNow, *monitor.EggNow) {
	for i := range snap.Clutches {
		c := &snap.Clutches[i]
		for k := range c.Eggs {
			if c.Eggs[k].ID == id {
				return c, &c.Eggs[k]
			}
		}
	}
	return nil, nil
}

// wishOf reads the sex that is wanted; "" is any.
func wishOf(text string) (incubation.Wish, bool) {
	switch w := incubation.Wish(text); w {
	case "":
		return incubation.AnySex, true
	case incubation.AnySex, incubation.WantFemale, incubation.WantMale:
		return w, true
	}
	return "", false
}
