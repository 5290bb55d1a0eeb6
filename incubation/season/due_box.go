package season

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// newBox is how long after eggs were set a keeper who never wrote an airing or
// a weighing down is reminded that boxes are aired and weighed. Judgement.
const newBox = 14 * 24 * time.Hour

// A boxed is an egg box with live eggs.
type boxed struct {
	place *incubation.Place
	since time.Time // its oldest live egg was set
	aired time.Time // zero: never, as far as is written down
	eggs  []*incubation.Egg
}

// boxes gives the egg boxes with live eggs, by id.
func (h *Herd) boxes() []*boxed {
	by := map[string]*boxed{}
	for _, e := range h.live() {
		place := h.state.Places[incubation.At(e.Stays, h.now)]
		if place == nil || place.Kind != incubation.Box {
			continue
		}
		b := by[place.ID]
		if b == nil {
			b = &boxed{place: place, since: h.now, aired: aired(place.Looks)}
			by[place.ID] = b
		}
		b.eggs = append(b.eggs, e)
		b.aired = later(b.aired, aired(e.Looks))
		if from := e.Stays[len(e.Stays)-1].From; from.Before(b.since) {
			b.since = from
		}
	}
	out := make([]*boxed, 0, len(by))
	for _, id := range sortedKeys(by) {
		out = append(out, by[id])
	}
	return out
}

// live gives the live eggs, by id.
func (h *Herd) live() []*incubation.Egg {
	var out []*incubation.Egg
	for _, e := range h.state.Eggs {
		if e.Live() {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b *incubation.Egg) int { return strings.Compare(a.ID, b.ID) })
	return out
}

// clutchesWith gives the ids of the clutches with such an egg, in order.
func (h *Herd) clutchesWith(wanted func(*incubation.Egg) bool) []string {
	var out []string
	for id, c := range h.state.Clutches {
		if slices.ContainsFunc(c.Eggs, wanted) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

// aired gives the newest airing of the looks.
func aired(looks []incubation.Look) time.Time {
	for _, l := range slices.Backward(looks) {
		if l.Aired {
			return l.At
		}
	}
	return time.Time{}
}

// ofBoxes gives which boxes to air and to weigh. A keeper who writes neither
// down is told of it while a box is new, and left alone then.
func (h *Herd) ofBoxes() []Item {
	boxes := h.boxes()
	airs := slices.ContainsFunc(boxes, func(b *boxed) bool { return !b.aired.IsZero() })
	weighs := slices.ContainsFunc(boxes, func(b *boxed) bool { return len(b.place.Weights) > 0 })
	var out []Item
	for _, b := range boxes {
		fresh := h.now.Sub(b.since) < newBox
		if airs || fresh {
			out = append(out, h.dueAir(b))
		}
		if item, ok := h.dueBoxWeight(b, weighs || fresh); ok {
			out = append(out, item)
		}
	}
	return out
}

func (h *Herd) dueAir(b *boxed) Item {
	i := Item{Kind: Air, Place: b.place.ID, Eggs: eggIDs(b.eggs), Do: "Air " + b.place.Name}
	last := later(b.since, b.aired)
	h.soon(&i, last, AirEvery)
	i.Key = key(Air, b.place.ID, h.date(last).Format(time.DateOnly))
	i.Why = fmt.Sprintf("Last aired %s. A moment is enough; look for dents, drops and mould.", h.on(last))
	if b.aired.IsZero() {
		i.By = later(i.By, b.since.Add(newBox))
		i.Why = fmt.Sprintf("Eggs lie in it since %s, and no airing is in the book. A moment is enough.", h.day(b.since))
	}
	return i
}

func (h *Herd) dueBoxWeight(b *boxed, wanted bool) (Item, bool) {
	i := Item{Kind: WeighBox, Place: b.place.ID, Eggs: eggIDs(b.eggs), Do: "Weigh " + b.place.Name}
	var last incubation.Weight
	if n := len(b.place.Weights); n > 0 {
		last = b.place.Weights[n-1]
	}
	switch {
	case last.At.Before(b.since) && wanted && h.now.Sub(b.since) < newBox:
		i.From, i.By = b.since, b.since.Add(newBox)
		i.Key = key(WeighBox, b.place.ID, h.date(b.since).Format(time.DateOnly))
		i.Why = fmt.Sprintf("Eggs were set %s: a first weight shows later how much water went.", h.on(b.since))
		return i, true
	case last.At.IsZero() || last.At.Before(b.since):
		return i, false
	}
	h.soon(&i, last.At, WeighBoxEvery)
	i.Key = key(WeighBox, b.place.ID, last.Seq)
	i.Why = fmt.Sprintf("%s g %s: what is lost is water, and is added along the rim.", grams(last.Grams), h.on(last.At))
	return i, true
}

func eggIDs(eggs []*incubation.Egg) []string {
	out := make([]string, len(eggs))
	for i, e := range eggs {
		out[i] = e.ID
	}
	return out
}
