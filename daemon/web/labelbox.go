package web

import (
	"cmp"
	"fmt"
	"net/url"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/handout"
)

// A boxLabel is the label of a clutch's live eggs in one box.
type boxLabel struct {
	clutch, egg string // ids: of the clutch, and of the first of the eggs
	box         handout.Box
}

// chosen reports whether an address asks for it: by its first egg, by its
// clutch, or with all others.
func (b boxLabel) chosen(q url.Values) bool {
	return chosen(q, "box", b.egg) || slices.Contains(q["clutch"], b.clutch)
}

// boxLabels are those of all live eggs, the newest laying first.
func (v *visit) boxLabels() []boxLabel {
	var out []boxLabel
	for _, c := range v.snap.Clutches {
		var order []string
		lying := map[string][]monitor.EggNow{}
		for _, e := range c.Eggs {
			if !live(e) {
				continue
			}
			if lying[e.Box] == nil {
				order = append(order, e.Box)
			}
			lying[e.Box] = append(lying[e.Box], e)
		}
		for _, box := range order {
			out = append(out, boxLabel{c.ID, lying[box][0].ID, v.boxLabel(c, box, lying[box])})
		}
	}
	return out
}

func (v *visit) boxLabel(c monitor.ClutchNow, box string, eggs []monitor.EggNow) handout.Box {
	b := handout.Box{
		Clutch: clutchTitle(c.ID), Dam: c.Name, In: eggs[0].PlacePath, Hatch: windowOf(eggs),
		Laid: incubation.Laying{From: c.Laid.From, To: c.Laid.To},
	}
	for _, e := range eggs {
		b.Eggs = append(b.Eggs, e.Mark)
	}
	if p := placeOf(v.snap, box); p != nil {
		b.Setpoint = p.Setpoint
		if p.Kind != incubation.Box {
			b.Hatch = windowOf(nil) // where they go from here decides it
		}
		b.Steps = v.stepsToCome(p.In)
	}
	// What is planned for an egg itself goes for it alone: it is told where all
	// of the box are to have it.
	own := v.stepsToCome(eggs[0].ID)
	same := !slices.ContainsFunc(eggs, func(e monitor.EggNow) bool {
		return fmt.Sprint(v.snap.Book.Plans[e.ID]) != fmt.Sprint(v.snap.Book.Plans[eggs[0].ID])
	})
	switch {
	case same:
		b.Steps = append(b.Steps, own...)
	default:
		b.Steps = append(b.Steps, handout.Step{Says: "the eggs have plans of their own"})
	}
	slices.SortStableFunc(b.Steps, func(x, y handout.Step) int { return x.At.Compare(y.At) })
	return b
}

// stepsToCome are those of a plan, of an incubator or an egg, that lie ahead.
func (v *visit) stepsToCome(id string) []handout.Step {
	var out []handout.Step
	for _, s := range v.snap.Book.Plans[id] {
		at := v.snap.Book.When(id, s)
		if !at.After(v.snap.Time) {
			continue
		}
		out = append(out, v.paperStep(s, at))
	}
	return out
}

func (v *visit) paperStep(s book.PlanStep, at time.Time) handout.Step {
	if s.Box != "" {
		return handout.Step{At: at, Says: "into " + v.teller().place(s.Box)}
	}
	return handout.Step{At: at, Celsius: &s.Celsius}
}

// windowOf reaches from the first of eggs that may hatch to the last.
func windowOf(eggs []monitor.EggNow) handout.Window {
	var w handout.Window
	for _, e := range eggs {
		if e.Estimate == nil {
			continue
		}
		h := e.Estimate.Hatch
		w.Overdue = w.Overdue || h.Overdue
		if w.Earliest.IsZero() || !h.Earliest.IsZero() && h.Earliest.Before(w.Earliest) {
			w.Earliest = h.Earliest
		}
		if h.Latest.After(w.Latest) {
			w.Latest = h.Latest
		}
	}
	return w
}

// slots are the enclosures, in the order of the round.
func (v *visit) slots() []monitor.PlaceNow {
	var out []monitor.PlaceNow
	for _, p := range v.snap.Places {
		if p.Kind == incubation.Enclosure {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b monitor.PlaceNow) int {
		return cmp.Or(asCounted(a.Rack, b.Rack), a.Slot-b.Slot, asCounted(a.Name, b.Name))
	})
	return out
}

// rackSays tells where an enclosure stands; "" if nobody said.
func rackSays(p incubation.Place) string {
	if p.Slot == 0 {
		return ""
	}
	return turn{rack: p.Rack, slot: p.Slot}.slotSays()
}
