package season

import (
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
)

// signFresh is how long a sign that nobody looked at again counts. Judgement.
const signFresh = 30 * 24 * time.Hour

// dueVet sends to a vet where white eggs were seen and she strains, is weak or
// has carried them too long, and where what was seen is a vet's matter by
// itself. A long interval is not: by itself it neither reassures nor alarms.
func (h *Herd) dueVet(c *course) (Item, bool) {
	last := c.last()
	if last == nil {
		return Item{}, false
	}
	name, i := h.state.Name(c.animal.ID), h.of(Vet, c)
	white := !c.phase.gravid.IsZero()
	fresh := !last.At.Before(c.lastLaid()) && h.now.Sub(last.At) < signFresh
	has := func(s incubation.Sign) bool { return fresh && slices.Contains(last.Signs, s) }
	why, from := "", any(last.Seq)
	switch carried := h.apart(c.phase.gravid, h.now); {
	case white && (has(incubation.Straining) || has(incubation.Weak)):
		why = fmt.Sprintf("White eggs were seen %s, and she was %s %s: do not wait.", h.on(c.phase.gravid),
			signWords(last.Signs, incubation.Straining, incubation.Weak), h.on(last.At))
	case has(incubation.RedBelly):
		why = fmt.Sprintf("A red belly %s: it may be a burn. Look at what heats her from below, too.", h.on(last.At))
	case has(incubation.Weak):
		why = fmt.Sprintf("Weak %s: that is a vet's matter whatever the season.", h.on(last.At))
	case white && carried > int(h.value(GravidTooLong)):
		why = fmt.Sprintf("White eggs were first seen %s, and no laying is in the book since: past %.0f days she "+
			"is shown to a vet.", h.on(c.phase.gravid), h.value(GravidTooLong))
		from, i.Rests = h.date(c.phase.gravid).Format(time.DateOnly), []string{GravidTooLong}
	default:
		return i, false
	}
	i.Key, i.Do, i.Why = key(Vet, c.animal.ID, from), "Show "+name+" to a vet", why
	return i, true
}

// signWords names those of the signs that were seen.
func signWords(have []incubation.Sign, of ...incubation.Sign) string {
	var out []string
	for _, s := range of {
		if slices.Contains(have, s) {
			out = append(out, string(s))
		}
	}
	return list(out)
}
