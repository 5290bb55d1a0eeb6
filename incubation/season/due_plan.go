package season

import (
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// planFresh is how long a step that was not done is asked for. Judgement: after
// that the plan is no longer what the keeper means.
const planFresh = 14 * 24 * time.Hour

// ofPlans gives the steps of plans that are due and not done yet.
func (h *Herd) ofPlans() []Item {
	var out []Item
	for _, id := range sortedKeys(h.state.Plans) {
		for n, step := range h.state.Plans[id] {
			at, i := step.At, Item{Kind: PlanStep, Place: id}
			if e := h.state.Eggs[id]; e != nil {
				at = h.state.When(id, step)
				if !e.Live() {
					continue
				}
				i.Place, i.Eggs, i.Clutch = incubation.At(e.Stays, h.now), []string{id}, e.Clutch
			}
			if h.now.Sub(at) > planFresh || h.done(id, i.Place, n, step, at) {
				continue
			}
			i.From, i.By = at, at
			i.Key = key(PlanStep, id, fmt.Sprintf("%d-%s", n, h.date(at).Format(time.DateOnly)))
			h.tellStep(&i, id, step, at)
			out = append(out, i)
		}
	}
	return out
}

// done reports whether the book shows a step carried out: the egg lies in the
// box, the thermostat aims at the temperature, or a later step is due already.
func (h *Herd) done(id, place string, n int, step book.PlanStep, at time.Time) bool {
	steps := h.state.Plans[id]
	if n+1 < len(steps) {
		next := steps[n+1].At
		if h.state.Eggs[id] != nil {
			next = h.state.When(id, steps[n+1])
		}
		if !next.After(h.now) {
			return true
		}
	}
	if at.After(h.now) && h.apart(h.now, at) > 0 {
		return false // still to come
	}
	if step.Box != "" {
		return place == step.Box
	}
	set := h.state.SetpointAt(place, h.now)
	return set != nil && math.Abs(float64(*set-step.Celsius)) <= asSet
}

// asSet is how far a dial may be from a step and still be what was meant, K:
// dials of cabinets are no finer. Judgement.
const asSet = 0.25

func (h *Herd) tellStep(i *Item, id string, step book.PlanStep, at time.Time) {
	what, whose := h.placeName(id), "its plan"
	if e := h.state.Eggs[id]; e != nil {
		c := h.state.Clutches[e.Clutch]
		what, whose = h.state.Name(c.Female)+" "+e.Mark, "the egg's plan"
	}
	due := h.day(at)
	if h.apart(at, h.now) == 0 {
		due = "today"
	}
	if step.Box != "" {
		i.Do = fmt.Sprintf("Move %s to %s", what, h.placeName(step.Box))
		i.Why = fmt.Sprintf("Step of %s, due %s. Do not turn the egg.", whose, due)
		return
	}
	degrees := fmt.Sprintf("%.1f °C", float64(step.Celsius))
	if h.o.Temperature != nil {
		degrees = h.o.Temperature(step.Celsius)
	}
	i.Do = what + ": " + degrees
	i.Why = fmt.Sprintf("Step of %s, due %s. Set the dial, and write the setpoint down.", whose, due)
}

func (h *Herd) placeName(id string) string {
	if p := h.state.Places[id]; p != nil && p.Name != "" {
		return p.Name
	}
	return id
}
