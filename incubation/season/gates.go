package season

import (
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// gates are what is wanted of a female before she is paired: the keeper's, or
// the starting values.
type gates struct {
	months, grams, loss, rest float64
	clutches                  int
	yours                     map[string]bool
}

func (h *Herd) gatesOf(d *book.GatesData) gates {
	g := gates{
		months: h.value(MinMonths), grams: h.value(MinGrams), loss: h.value(MaxLoss),
		rest: h.value(RestDays), clutches: int(h.value(MaxClutches)), yours: map[string]bool{},
	}
	if d == nil {
		return g
	}
	for _, set := range []struct {
		key  string
		to   *float64
		from *float64
	}{
		{MinMonths, &g.months, d.MinMonths},
		{MinGrams, &g.grams, d.MinGrams},
		{MaxLoss, &g.loss, d.MaxLossRatio},
		{RestDays, &g.rest, d.RestDays},
	} {
		if set.from != nil {
			*set.to, g.yours[set.key] = *set.from, true
		}
	}
	if d.MaxClutches != nil {
		g.clutches, g.yours[MaxClutches] = *d.MaxClutches, true
	}
	return g
}

// gate makes one that the book knows the answer to.
func (h *Herd) gate(name string, pass bool, says string, args ...any) Gate {
	return Gate{Name: name, Pass: pass, Known: true, Yours: h.gates.yours[name], Says: fmt.Sprintf(says, args...)}
}

// unknown makes one that it does not: that does not stand in the way.
func (h *Herd) unknown(name, says string, args ...any) Gate {
	g := h.gate(name, true, says, args...)
	g.Known = false
	return g
}

// ofFemale gives every gate that a female passes or not, whoever the male is.
func (h *Herd) ofFemale(c *course) []Gate {
	a, name := c.animal, h.state.Name(c.animal.ID)
	out := []Gate{h.present(a, name), h.quarantine(a, name), h.stage(c, name), h.age(a, name)}
	out = append(out, h.weight(a, name)...)
	n := c.laidIn(h.season)
	out = append(out, h.gate(MaxClutches, n < h.gates.clutches,
		"%s laid %s this season; from %d on she rests", name, count(n, "clutch", "clutches"), h.gates.clutches))
	rest := h.gate(RestDays, true, "%s was not paired lately", name)
	if p := c.lastAccepted(); p != nil {
		gone := h.apart(p.At, h.now)
		rest = h.gate(RestDays, float64(gone) >= h.gates.rest,
			"%s accepted %s %s; she is left alone for %s", name, h.state.Name(p.Male), h.on(p.At),
			count(int(h.gates.rest), "day", "days"))
	}
	return append(out, rest)
}

func (h *Herd) present(a *incubation.Animal, name string) Gate {
	switch {
	case a.Retired == nil:
		return h.gate("here", true, "%s is here", name)
	case a.Here():
		return h.gate("here", false, "%s rests from breeding since %s", name, h.day(a.Retired.At))
	}
	return h.gate("here", false, "%s is no longer here since %s (%s)", name, h.day(a.Retired.At), a.Retired.Why)
}

func (h *Herd) quarantine(a *incubation.Animal, name string) Gate {
	if a.Quarantine.After(h.now) {
		return h.gate("quarantine", false, "%s is in quarantine until %s", name, h.day(a.Quarantine))
	}
	return h.gate("quarantine", true, "%s is not in quarantine", name)
}

// stage refuses a female that carries eggs: she is past her cycle's moment,
// and to be left in peace.
func (h *Herd) stage(c *course, name string) Gate {
	if c.phase.carries() {
		return h.gate("stage", false, "%s showed %s %s: she is not paired now", name, seen(c.phase.check),
			h.on(c.phase.check.At))
	}
	if c.phase.lost != nil && c.lastLaid().Before(c.phase.lost.At) {
		return h.gate("stage", false, "%s had white eggs and no laying is in the book", name)
	}
	return h.gate("stage", true, "%s carries no eggs, as far as is known", name)
}

// age counts a hatch year or month as its end: she may be that young.
func (h *Herd) age(a *incubation.Animal, name string) Gate {
	if hatched, ok := latestHatch(a.Hatched); ok {
		if months := monthsBetween(hatched, h.now.In(h.zone)); float64(months) < h.gates.months {
			return h.gate(MinMonths, false, "%s is %s old, or little more; from %.0f months on", name,
				count(max(months, 0), "month", "months"), h.gates.months)
		}
		return h.gate(MinMonths, true, "%s is old enough", name)
	}
	switch a.AgeClass {
	case incubation.Adult:
		return h.gate(MinMonths, true, "%s looked grown", name)
	case incubation.Young, incubation.Subadult:
		return h.gate(MinMonths, false, "%s is %s", name, a.AgeClass)
	}
	return h.unknown(MinMonths, "how old %s is, is not in the book", name)
}

// latestHatch is the last day that a hatch date of any length allows.
func latestHatch(text string) (time.Time, bool) {
	for _, form := range []struct {
		layout        string
		years, months int
	}{{"2006-01-02", 0, 0}, {"2006-01", 0, 1}, {"2006", 1, 0}} {
		t, err := time.Parse(form.layout, text)
		if err != nil {
			continue
		}
		if form.years+form.months > 0 {
			t = t.AddDate(form.years, form.months, -1)
		}
		return t, true
	}
	return time.Time{}, false
}

// monthsBetween counts whole months.
func monthsBetween(from, to time.Time) int {
	n := (to.Year()-from.Year())*12 + int(to.Month()) - int(from.Month())
	if to.Day() < from.Day() {
		n--
	}
	return n
}

// weightOld is from when on a weight no longer says how heavy she is.
// Judgement.
const weightOld = 60 * 24 * time.Hour

// weight looks at how heavy she is, and at what she lost this season.
func (h *Herd) weight(a *incubation.Animal, name string) []Gate {
	n := len(a.Weights)
	if n == 0 {
		return []Gate{h.unknown(MinGrams, "%s was never weighed", name)}
	}
	last := a.Weights[n-1]
	if h.now.Sub(last.At) > weightOld {
		return []Gate{h.unknown(MinGrams, "%s was last weighed %s", name, h.on(last.At))}
	}
	out := []Gate{h.gate(MinGrams, last.Grams >= h.gates.grams, "%s weighed %s g %s; from %s g on",
		name, grams(last.Grams), h.on(last.At), grams(h.gates.grams))}
	if most, loss := h.loss(a); loss > 0 {
		out = append(out, h.gate(MaxLoss, loss <= h.gates.loss,
			"%s lost %.0f %% since %s (%s g then, %s g now); up to %.0f %%", name, 100*loss, h.day(most.At),
			grams(most.Grams), grams(last.Grams), 100*h.gates.loss))
	}
	return out
}

// loss is how much lighter an animal is than at its heaviest this season, as a
// share of that; 0: it is not.
func (h *Herd) loss(a *incubation.Animal) (most incubation.Weight, share float64) {
	for _, w := range a.Weights {
		if h.season.Holds(w.At) && w.Grams > most.Grams {
			most = w
		}
	}
	if most.Grams <= 0 {
		return most, 0
	}
	return most, 1 - a.Weights[len(a.Weights)-1].Grams/most.Grams
}

// grams writes a weight.
func grams(g float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", g), ".0")
}

// lastAccepted is her newest pairing in which a mating was seen; nil: none.
func (c *course) lastAccepted() *incubation.Pairing {
	for i := len(c.pairings) - 1; i >= 0; i-- {
		if c.pairings[i].Outcome == incubation.Accepted {
			return &c.pairings[i]
		}
	}
	return nil
}
