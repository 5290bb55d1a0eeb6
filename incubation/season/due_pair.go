package season

import (
	"fmt"
	"strings"

	"clutchd/incubation"
)

// mostMales is how many males a proposal names.
const mostMales = 3

// duePair proposes a pairing where large follicles, or follicles of no noted
// size, were seen lately, she needs one and nothing stands in the way. A
// pairing is not needed for each clutch: sperm is stored.
func (h *Herd) duePair(c *course, p *pedigree) (Item, bool) {
	i := h.of(Pair, c)
	if !h.readily(c) || c.phase.check.Size == incubation.Small {
		return i, false
	}
	need := h.needsPairing(c)
	if need == "" {
		return i, false
	}
	if n := len(c.pairings); n > 0 && c.pairings[n-1].Outcome == incubation.Refused {
		last := c.pairings[n-1]
		i.From = last.At.Add(days(h.values[SmallAgain].Low))
		need = fmt.Sprintf("%s was refused %s", h.state.Name(last.Male), h.on(last.At))
	}
	var kin []string
	for _, v := range h.malesFor(p, c.animal.ID) {
		switch {
		case !v.Allowed || len(i.Animals) > mostMales:
		case v.Kin.Close:
			kin = append(kin, h.state.Name(v.Male))
		default:
			i.Animals = append(i.Animals, v.Male)
		}
	}
	if len(i.Animals) == 1 {
		return i, false // no male, or only close kin: nothing to propose
	}
	var names []string
	for _, id := range i.Animals[1:] {
		names = append(names, h.state.Name(id))
	}
	i.By = i.From.Add(days(h.value(CheckLarge)))
	i.Key = key(Pair, c.animal.ID, c.phase.check.Seq)
	i.Do = fmt.Sprintf("Bring %s together with %s", h.state.Name(c.animal.ID), or(names))
	i.Why = fmt.Sprintf("%s %s; %s. Stay with them.", capital(seen(c.phase.check)), h.on(c.phase.check.At), need)
	if len(kin) > 0 {
		i.Why += fmt.Sprintf(" Close kin are left out: %s.", list(kin))
	}
	i.Rests = []string{RestDays, SpermKept}
	return i, true
}

// or joins names: "A, B or C".
func or(names []string) string {
	n := len(names)
	if n < 2 {
		return list(names)
	}
	return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
}

// needsPairing says why a female wants a male this season; "": she does not, as
// far as the book tells.
func (h *Herd) needsPairing(c *course) string {
	last := -1
	for i, p := range c.pairings {
		if p.Outcome != incubation.Refused && h.season.Holds(p.At) {
			last = i
		}
	}
	if last < 0 {
		return "no pairing of hers is in the book this season"
	}
	for i := len(c.laid) - 1; i >= 0; i-- {
		l := c.laid[i]
		if l.clutch == "" || l.at.Before(c.pairings[last].At) {
			continue
		}
		if h.clear(l.clutch) {
			return "her last clutch was clear"
		}
		break
	}
	return ""
}

// clear reports whether a clutch was seen to be without a fertile egg.
func (h *Herd) clear(clutch string) bool {
	c := h.state.Clutches[clutch]
	if c == nil || len(c.Eggs) == 0 {
		return false
	}
	for _, e := range c.Eggs {
		if !clearEgg(e) {
			return false
		}
	}
	return true
}
