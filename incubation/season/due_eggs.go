package season

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// ofEggs gives what is due of live eggs: a look at those that may hatch, a
// light behind those that were not seen yet. Eggs of one clutch in one box
// come together.
func (h *Herd) ofEggs() []Item {
	var out []Item
	for _, id := range h.clutchesWith((*incubation.Egg).Live) {
		c := h.state.Clutches[id]
		byBox := map[string][]*incubation.Egg{}
		for _, e := range c.Eggs {
			if e.Live() {
				box := incubation.At(e.Stays, h.now)
				byBox[box] = append(byBox[box], e)
			}
		}
		for _, box := range sortedKeys(byBox) {
			out = append(out, h.dueHatch(c, box, byBox[box])...)
			out = append(out, h.dueCandle(c, box, byBox[box])...)
		}
	}
	return out
}

// ofClutch begins an item about eggs of a clutch in a box.
func (h *Herd) ofClutch(kind Kind, c *incubation.Clutch, box string, eggs []*incubation.Egg) Item {
	i := Item{Kind: kind, Clutch: c.ID, Place: box, From: h.now, By: h.now}
	if h.state.Animals[c.Female] != nil {
		i.Animals = []string{c.Female}
	}
	for _, e := range eggs {
		i.Eggs = append(i.Eggs, e.ID)
	}
	return i
}

// called names eggs: "Saffron A and B, Box 3".
func (h *Herd) called(c *incubation.Clutch, box string, eggs []*incubation.Egg) string {
	var marks []string
	for _, e := range eggs {
		marks = append(marks, e.Mark)
	}
	text := h.state.Name(c.Female) + " " + list(marks)
	if p := h.state.Places[box]; p != nil {
		text += ", " + p.Name
	}
	return text
}

func (h *Herd) dueHatch(c *incubation.Clutch, box string, eggs []*incubation.Egg) []Item {
	var pipped, ripe []*incubation.Egg
	for _, e := range eggs {
		w, known := h.o.Hatch[e.ID]
		switch {
		case e.State == incubation.Pipped:
			pipped = append(pipped, e)
		case known && !w.Earliest.IsZero() && h.apart(h.now, w.Earliest) <= week:
			ripe = append(ripe, e)
		}
	}
	var out []Item
	if len(pipped) > 0 {
		i := h.ofClutch(Hatch, c, box, pipped)
		i.Key, i.Do = key(Hatch, pipped[0].ID, "pipped"), "Look at "+h.called(c, box, pipped)
		i.Why = fmt.Sprintf("Pipped %s. It may rest for a day or two: never cut, never pull off yolk.",
			h.on(pipped[0].PippedAt))
		out = append(out, i)
	}
	if len(ripe) > 0 {
		w := h.o.Hatch[ripe[0].ID]
		i := h.ofClutch(Hatch, c, box, ripe)
		i.Key, i.Do = key(Hatch, ripe[0].ID, "window"), "Look daily at "+h.called(c, box, ripe)
		i.From, i.By = w.Earliest, later(h.now, w.Latest)
		i.Why = fmt.Sprintf("May hatch from %s on, most likely about %s.", h.day(w.Earliest), h.day(w.Likely))
		if w.Overdue || h.now.After(w.Latest) {
			i.Why = "Past its hatch window. Look, candle if unsure, and wait: never cut, never pull."
		}
		out = append(out, i)
	}
	return out
}

// tooLate is from which age on an egg that was never candled is left alone: the
// light would say nothing that its hatch will not. Judgement.
const tooLate = 28 * 24 * time.Hour

func (h *Herd) dueCandle(c *incubation.Clutch, box string, eggs []*incubation.Egg) []Item {
	laid := middle(c.Laid)
	groups := map[string][]*incubation.Egg{}
	for _, e := range eggs {
		n := len(e.Candlings)
		switch {
		case n == 0 && h.now.Sub(laid) < tooLate:
			groups["first"] = append(groups["first"], e)
		case n > 0 && e.Candlings[n-1].Seen == "unsure" && h.now.Sub(e.Candlings[n-1].At) < tooLate:
			groups["again"] = append(groups["again"], e)
		}
	}
	var out []Item
	for _, which := range sortedKeys(groups) {
		g := groups[which]
		i := h.ofClutch(Candle, c, box, g)
		i.Do = "Candle " + h.called(c, box, g)
		if which == "first" {
			h.soon(&i, laid, CandleFrom)
			i.Key = key(Candle, g[0].ID, "first")
			i.Why = fmt.Sprintf("%s %s and not candled yet. A cool light, briefly, the egg not turned.",
				h.laidOrFound(c.Laid.From, c.Laid.To), h.on(c.Laid.To))
		} else {
			last := g[0].Candlings[len(g[0].Candlings)-1]
			h.soon(&i, last.At, CandleAgain)
			i.Key = key(Candle, g[0].ID, last.Seq)
			i.Why = fmt.Sprintf("The light left it open %s: look once more.", h.on(last.At))
		}
		out = append(out, i)
	}
	return out
}

// fertile reports whether an egg was seen to live.
func fertile(e *incubation.Egg) bool {
	return e.State == incubation.Hatched || e.State == incubation.Pipped || !e.PippedAt.IsZero() ||
		slices.ContainsFunc(e.Candlings, func(c incubation.Candling) bool {
			return c.Seen == "alive" || c.Shows == incubation.Veins || c.Shows == incubation.Ring ||
				c.Shows == incubation.Dark
		})
}

// clearEgg reports whether an egg was found to be without a germ: the newest
// light showed nothing at an age at which it would, or the cause of its loss
// says so.
func clearEgg(e *incubation.Egg) bool {
	if fertile(e) {
		return false
	}
	cause := strings.ToLower(e.Cause)
	for _, word := range []string{"clear", "infertile", "not fertile", "unfertilised", "unfertilized"} {
		if e.State == incubation.Failed && strings.Contains(cause, word) {
			return true
		}
	}
	n := len(e.Candlings)
	return n > 0 && e.Candlings[n-1].Shows == incubation.Clear &&
		(e.State == incubation.Failed || e.Candlings[n-1].Seen == "dead")
}
