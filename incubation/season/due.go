package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// Due gives what is due today and this week: a vet's matters, then what is
// late, then today's, then the week's. Within each in the order of a round:
// the animals by rack and slot, the egg boxes by incubator, the young.
func (h *Herd) Due() []Item {
	var out []entry
	add := func(items ...Item) {
		for _, i := range items {
			if h.urgent(&i) {
				out = append(out, entry{i, h.stop(i)})
			}
		}
	}
	p := h.pedigree()
	for _, id := range h.females {
		if c := h.courses[id]; c.animal.Here() {
			add(h.ofCourse(c, p)...)
		}
	}
	for _, id := range sortedKeys(h.state.Animals) {
		if a := h.state.Animals[id]; a.Here() {
			add(h.ofBody(a)...)
		}
	}
	add(h.ofEggs()...)
	add(h.ofBoxes()...)
	add(h.ofPlans()...)
	add(h.ofYoung()...)
	slices.SortStableFunc(out, func(a, b entry) int {
		return cmp.Or(cmp.Compare(a.Urgency.rank(), b.Urgency.rank()), a.at.compare(b.at),
			cmp.Compare(a.Kind.rank(), b.Kind.rank()), a.By.Compare(b.By), strings.Compare(a.Key, b.Key))
	})
	items := make([]Item, len(out))
	for i := range out {
		items[i] = out[i].Item
	}
	return items
}

// An entry is an item with where in the round it comes.
type entry struct {
	Item
	at stop
}

// A stop is where in a round something is done.
type stop struct {
	part int // 0 animals, 1 eggs, 2 young, 3 nowhere
	rack string
	slot int
	name string
}

func (s stop) compare(o stop) int {
	return cmp.Or(cmp.Compare(s.part, o.part), cmp.Compare(truth(s.rack == ""), truth(o.rack == "")),
		strings.Compare(s.rack, o.rack), cmp.Compare(s.slot, o.slot), strings.Compare(s.name, o.name))
}

func (h *Herd) stop(i Item) stop {
	switch {
	case len(i.Animals) > 0 && i.Clutch == "":
		s := stop{name: i.Animals[0]}
		if a := h.state.Animals[i.Animals[0]]; a != nil {
			if p := h.state.Places[incubation.At(a.Stays, h.now)]; p != nil {
				s.rack, s.slot = p.Rack, p.Slot
			}
		}
		return s
	case i.Kind == Sex:
		return stop{part: 2, name: i.Clutch}
	case i.Place != "":
		return stop{part: 1, name: h.state.Path(i.Place, h.now)}
	}
	return stop{part: 3}
}

func (u Urgency) rank() int { return slices.Index([]Urgency{Now, Overdue, Today, ThisWeek}, u) }

func (k Kind) rank() int { return slices.Index(Kinds(), k) }

// week is how many days after today still are this week.
const week = 6

// urgent dates an item by days and says how soon it is due; false: not this
// week.
func (h *Herd) urgent(i *Item) bool {
	i.From = h.midnight(i.From)
	i.By = h.midnight(later(i.By, i.From))
	switch from, by := h.apart(h.now, i.From), h.apart(h.now, i.By); {
	case i.Kind == Vet:
		i.Urgency = Now
	case from > week:
		return false
	case by < 0:
		i.Urgency = Overdue
	case from <= 0:
		i.Urgency = Today
	default:
		i.Urgency = ThisWeek
	}
	return true
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// key names an item: what it is about, and the entry or day that it follows
// from.
func key(kind Kind, subject string, from any) string {
	return fmt.Sprintf("%s/%s/%v", kind, subject, from)
}

// ofCourse gives what is due of a female's cycle.
func (h *Herd) ofCourse(c *course, p *pedigree) []Item {
	if vet, ok := h.dueVet(c); ok {
		return []Item{vet}
	}
	next := h.next(c)
	box, looks := h.dueLaying(c, next)
	var out []Item
	if check, ok := h.dueCheck(c, next, looks); ok {
		out = append(out, check)
	}
	if looks {
		out = append(out, box)
	}
	if pair, ok := h.duePair(c, p); ok {
		out = append(out, pair)
	}
	return out
}

// of begins an item about a female.
func (h *Herd) of(kind Kind, c *course) Item {
	return Item{
		Kind: kind, Animals: []string{c.animal.ID}, Place: incubation.At(c.animal.Stays, h.now),
		From: h.now, By: h.now,
	}
}
