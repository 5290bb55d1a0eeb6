package web

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// A turn is one female in the order of the round.
type turn struct {
	animal *incubation.Animal
	name   string
	rack   string
	slot   int    // 0: she stands in no rack
	where  string // her enclosure, as it is called
}

// turns are the females that breed here, rack by rack and slot by slot; those
// in no rack come last, by name. rack narrows it to one, "" does not.
func (v *visit) turns(rack string) []turn {
	b := v.snap.Book
	var out []turn
	for id, a := range b.Animals {
		if a.Sex != incubation.Female || !a.Breeds() {
			continue
		}
		t := turn{animal: a, name: b.Name(id)}
		if p := b.Places[incubation.At(a.Stays, v.snap.Time)]; p != nil {
			t.where = p.Name
			t.rack, t.slot = p.Rack, p.Slot
		}
		if rack == "" || t.slot > 0 && t.rack == rack {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, func(a, b turn) int {
		if (a.slot > 0) != (b.slot > 0) {
			return cmp.Compare(b.slot, a.slot) // the one in a rack first
		}
		return cmp.Or(asCounted(a.rack, b.rack), cmp.Compare(a.slot, b.slot), asCounted(a.name, b.name),
			cmp.Compare(a.animal.ID, b.animal.ID))
	})
	return out
}

// racks are those that hold a female, in order.
func racks(turns []turn) []string {
	var out []string
	for _, t := range turns {
		if t.slot > 0 && (len(out) == 0 || out[len(out)-1] != t.rack) {
			out = append(out, t.rack)
		}
	}
	return out
}

// slotSays tells where she stands; "": in no rack.
func (t turn) slotSays() string {
	if t.slot == 0 {
		return t.where
	}
	return strings.TrimSpace(rackWord(t.rack) + " · slot " + strconv.Itoa(t.slot))
}

// rackWord names a rack; one without a name is the only one.
func rackWord(rack string) string {
	if rack == "" {
		return "the rack"
	}
	if strings.Contains(strings.ToLower(rack), "rack") {
		return rack
	}
	return "rack " + rack
}

// seenSince gives her newest check at or after a time; nil: she was not
// looked at.
func (t turn) seenSince(at time.Time) *incubation.Check {
	if c := t.animal.Last(); c != nil && !c.At.Before(at) {
		return c
	}
	return nil
}
