package season

import (
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
)

// How long a female that may have laid goes without a look before that is told,
// and how late a check is before it is. Judgement.
const (
	gravidUnseen = 2 * 24 * time.Hour
	windowUnseen = 7 * 24 * time.Hour
	checkLate    = 7 * 24 * time.Hour
)

// Kept reports whether the season's book is kept at all: a check of a female
// that is here was written down within the last two months. Where it is not,
// nothing is to be told of the season.
func (h *Herd) Kept() bool {
	return slices.ContainsFunc(h.females, func(id string) bool {
		last := h.courses[id].last()
		return last != nil && h.courses[id].animal.Here() && h.now.Sub(last.At) < 60*24*time.Hour
	})
}

// Unseen says of each female that may have laid, and that nobody has looked at
// since, why: by id. White eggs wait two days for a look; where only an
// interval speaks, its likeliest day must have passed, most of its chance must
// be left, and the last look be a week ago.
func (h *Herd) Unseen() map[string]string {
	out := map[string]string{}
	for _, id := range h.females {
		c := h.courses[id]
		last := c.last()
		if !c.animal.Here() || last == nil {
			continue
		}
		silent := h.now.Sub(last.At)
		switch next := h.next(c); {
		case c.phase.stage == incubation.Gravid && silent >= gravidUnseen:
			out[id] = fmt.Sprintf("White eggs were last seen %s.", h.on(last.At))
		case c.phase.carries() || next == nil || next.Past || next.Comes < 0.5 || silent < windowUnseen ||
			h.now.Sub(c.lastLaid()) < windowUnseen:
		case h.now.After(next.Likely):
			out[id] = fmt.Sprintf("A clutch is expected %s, and she was last looked at %s.",
				h.between(next.From, next.By), h.on(last.At))
		}
	}
	return out
}

// Late gives the females whose check is a week late and more, in the order of
// a round.
func Late(items []Item, now time.Time) []string {
	var out []string
	for _, i := range items {
		if i.Kind == Check && i.Urgency == Overdue && now.Sub(i.By) >= checkLate {
			out = append(out, i.Animals[0])
		}
	}
	return out
}
