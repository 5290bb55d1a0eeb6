package season

import (
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
)

// quarantineAsked is for how many days after its end a quarantine is asked
// about. Judgement.
const quarantineAsked = 14

// ofBody gives what is due of an animal itself: a treatment that goes on, its
// weight, the end of its quarantine.
func (h *Herd) ofBody(a *incubation.Animal) []Item {
	i := Item{Animals: []string{a.ID}, Place: incubation.At(a.Stays, h.now), From: h.now, By: h.now}
	name := h.state.Name(a.ID)
	var out []Item
	for _, t := range a.Treatments {
		if t.Until.IsZero() || h.apart(t.Until, h.now) > 0 || h.apart(t.At, h.now) < 0 || h.given(a, t) {
			continue
		}
		treat := i
		treat.Kind, treat.Key = Treat, key(Treat, a.ID, fmt.Sprintf("%d-%s", t.Seq, h.date(h.now).Format(time.DateOnly)))
		treat.Do = name + ": " + t.What
		treat.Why = fmt.Sprintf("Begun %s, until %s.", h.on(t.At), h.day(t.Until))
		if h.apart(t.Until, h.now) == 0 {
			treat.Why = fmt.Sprintf("Begun %s; today is the last day.", h.on(t.At))
		}
		out = append(out, treat)
	}
	if weigh, ok := h.dueWeight(a, i, name); ok {
		out = append(out, weigh)
	}
	if h.apart(h.now, a.Quarantine) >= -quarantineAsked && !a.Quarantine.IsZero() {
		ends := i
		ends.Kind, ends.From, ends.By = Quarantine, a.Quarantine, a.Quarantine
		ends.Key = key(Quarantine, a.ID, h.date(a.Quarantine).Format(time.DateOnly))
		ends.Do = "End " + name + "'s quarantine, or go on with it"
		ends.Why = fmt.Sprintf("It was set until %s: was nothing found that speaks against it?", h.day(a.Quarantine))
		out = append(out, ends)
	}
	return out
}

// given reports whether the treatment was written down today: a dose is not
// to be given twice.
func (h *Herd) given(a *incubation.Animal, t incubation.Treatment) bool {
	return slices.ContainsFunc(a.Treatments, func(u incubation.Treatment) bool {
		return u.What == t.What && h.apart(u.At, h.now) == 0
	})
}

// dueWeight says when to weigh an animal that was weighed before: one that lost
// more than the gate within the week, a female in her season every two weeks.
func (h *Herd) dueWeight(a *incubation.Animal, i Item, name string) (Item, bool) {
	c, n := h.courses[a.ID], len(a.Weights)
	if n == 0 || !a.Breeds() {
		return i, false
	}
	last := a.Weights[n-1]
	i.Kind, i.Key, i.Do = Weigh, key(Weigh, a.ID, last.Seq), "Weigh "+name
	if most, loss := h.loss(a); loss > h.gates.loss {
		i.From, i.By = last.At.Add(days(7)), last.At.Add(days(10))
		if h.apart(last.At, h.now) > 0 {
			i.From = h.now
		}
		i.Why = fmt.Sprintf("%.0f %% less than %s: %s g then, %s g %s. Let it rest and eat; if it goes on losing, "+
			"ask a vet.", 100*loss, "on "+h.day(most.At), grams(most.Grams), grams(last.Grams), h.on(last.At))
		i.Rests = []string{MaxLoss}
		return i, true
	}
	if c == nil || !h.inSeason(c) {
		return i, false
	}
	h.soon(&i, last.At, WeighEvery)
	i.Why = fmt.Sprintf("%s g %s: a loss is seen by weighing.", grams(last.Grams), h.on(last.At))
	return i, true
}
