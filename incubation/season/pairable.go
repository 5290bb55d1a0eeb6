package season

import (
	"cmp"
	"slices"

	"clutchd/incubation"
)

// recentCheck is how long a check says where she stands, in days. Judgement:
// follicles grow and go within a week or two.
const recentCheck = 10

// Pairable says whether a female and a male may be brought together now.
func (h *Herd) Pairable(female, male string) Verdict {
	return h.judge(h.pedigree(), female, male, h.ofFemaleID(female))
}

// Males judges every male that lives here for a female: those that may be
// paired first, of these the least related, then by id.
func (h *Herd) Males(female string) []Verdict { return h.malesFor(h.pedigree(), female) }

func (h *Herd) malesFor(p *pedigree, female string) []Verdict {
	hers := h.ofFemaleID(female)
	out := make([]Verdict, 0, len(h.males))
	for _, id := range h.males {
		out = append(out, h.judge(p, female, id, hers))
	}
	slices.SortStableFunc(out, func(a, b Verdict) int {
		return cmp.Or(truth(b.Allowed)-truth(a.Allowed), cmp.Compare(a.Kin.Relationship, b.Kin.Relationship))
	})
	return out
}

func truth(b bool) int {
	if b {
		return 1
	}
	return 0
}

func (h *Herd) ofFemaleID(female string) []Gate {
	c := h.courses[female]
	if c == nil {
		return []Gate{h.gate("sex", false, "the book has no female %s", h.state.Name(female))}
	}
	return h.ofFemale(c)
}

func (h *Herd) judge(p *pedigree, female, male string, hers []Gate) Verdict {
	v := Verdict{Female: female, Male: male, Allowed: true, Kin: h.kin(p, female, male)}
	v.Gates = append(slices.Clone(hers), h.ofMale(male)...)
	for _, g := range v.Gates {
		switch {
		case !g.Pass:
			if v.Allowed {
				v.Why = capital(g.Says) + "."
			}
			v.Allowed = false
		case !g.Known:
			v.Warnings = append(v.Warnings, capital(g.Says)+".")
		}
	}
	if v.Kin.Close || v.Kin.Unknown > 0 {
		v.Warnings = append(v.Warnings, capital(v.Kin.Says)+".")
	}
	if c := h.courses[female]; c != nil {
		v.Receptive = receptive(c.phase.check)
		v.Ready = v.Allowed && h.readily(c)
	}
	switch {
	case !v.Allowed:
	case v.Ready:
		v.Why = capital(seen(h.courses[female].phase.check)) + " " + h.on(h.courses[female].phase.check.At) +
			"; nothing stands in the way."
	default:
		v.Why = "Nothing stands in the way, but no follicles were seen lately."
	}
	return v
}

// ofMale gives the gates of a male.
func (h *Herd) ofMale(id string) []Gate {
	a := h.state.Animals[id]
	if a == nil || a.Sex == incubation.Female {
		return []Gate{h.gate("sex", false, "the book has no male %s", h.state.Name(id))}
	}
	name := h.state.Name(id)
	out := []Gate{h.present(a, name), h.quarantine(a, name)}
	if a.AgeClass == incubation.Young && a.Hatched == "" {
		out = append(out, h.gate("age-class", false, "%s is %s", name, a.AgeClass))
	}
	if hatched, ok := latestHatch(a.Hatched); ok && float64(monthsBetween(hatched, h.now.In(h.zone))) < h.gates.months {
		out = append(out, h.unknown(MinMonths, "%s is younger than %.0f months", name, h.gates.months))
	}
	if last := a.Last(); last != nil && slices.Contains(last.Signs, incubation.Thin) {
		out = append(out, h.unknown("condition", "%s was thin %s", name, h.on(last.At)))
	}
	return out
}

// readily reports whether she showed follicles lately.
func (h *Herd) readily(c *course) bool {
	return c.phase.stage == incubation.Follicular && c.phase.check != nil &&
		h.apart(c.phase.check.At, h.now) <= recentCheck
}

// receptive gives the published share of a check's stage; nil where none is.
func receptive(c *incubation.Check) *float64 {
	if c == nil {
		return nil
	}
	for _, r := range Receptivity() {
		if r.Stage == c.Stage && (r.Size == "" || r.Size == c.Size) {
			return &r.Share
		}
	}
	return nil
}
