package season

import (
	"fmt"
	"time"

	"clutchd/incubation"
)

// oldYoung is from which age on nobody is asked for the sex of a hatchling any
// more. Judgement.
const oldYoung = 240 * 24 * time.Hour

// ofYoung gives the clutches whose hatchlings are old enough to be sexed on the
// animal and have not been. Young that left are not asked for.
func (h *Herd) ofYoung() []Item {
	gone := map[string]bool{}
	for _, a := range h.state.Animals {
		if a.Egg != "" && (!a.Here() || a.Sex != "") {
			gone[a.Egg] = true
		}
	}
	var out []Item
	for _, id := range h.clutchesWith(func(e *incubation.Egg) bool {
		return e.State == incubation.Hatched && h.now.Sub(e.Ended) < oldYoung
	}) {
		c := h.state.Clutches[id]
		// Who comes of age within the week is told ahead.
		gap := c.SexingGap(h.now.Add(days(week)))
		var eggs []*incubation.Egg
		for _, e := range append(gap.Due, gap.Late...) {
			if !gone[e.ID] && h.now.Sub(e.Ended) < oldYoung {
				eggs = append(eggs, e)
			}
		}
		if len(eggs) == 0 {
			continue
		}
		i := h.ofClutch(Sex, c, "", eggs)
		hatched := eggs[0].Ended
		i.Key = key(Sex, id, h.date(hatched).Format(time.DateOnly))
		i.From = hatched.Add(incubation.SexableFrom)
		i.By = later(hatched.Add(incubation.SexableTo), h.now)
		i.Do = fmt.Sprintf("Sex the young of %s", h.state.Name(c.Female))
		i.Why = fmt.Sprintf("%s, hatched %s. At two to four months pores and bulges tell; what is seen on the "+
			"animal teaches the estimate.", count(len(eggs), "animal", "animals"), h.on(hatched))
		out = append(out, i)
	}
	return out
}
