package incubation

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"
)

// A Layout is the room as far as it says which probe speaks for which egg:
// what stands in what, and which probe sat where, when.
type Layout struct {
	Places     map[string]*Place
	Placements []Placement
}

// Sources gives the placements of the probes that speak for an egg at t, given
// where it lay: nearest first. First come those in its own place, then those
// of the place in which that place stood. The latter measure the air around
// the box, whatever their placement says, and come back with that position.
// None: nothing measured this egg.
func Sources(room Layout, stays []Stay, t time.Time) []Placement {
	place := At(stays, t)
	if place == "" {
		return nil
	}
	out := room.within(nil, place, t)
	box := room.Places[place]
	if box == nil {
		return out
	}
	if outer := At(box.Stays, t); outer != "" && outer != place {
		own := len(out)
		out = room.within(out, outer, t)
		for i := own; i < len(out); i++ {
			out[i].Position, out[i].Shelf = IncubatorAir, ShelfName(place, outer)
		}
	}
	return out
}

// within appends the placements in a place at t, nearest position first.
func (l Layout) within(out []Placement, place string, t time.Time) []Placement {
	from := len(out)
	for _, p := range l.Placements {
		if p.Stay.Place == place && p.Stay.Covers(t) {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out[from:], func(a, b Placement) int {
		return cmp.Compare(a.Position.Rank(), b.Position.Rank())
	})
	return out
}

// Piece makes one egg's block of what the probes that speak for it said in one
// step: the mean of the nearest rank that said anything sound, or, where none
// did, anything at all. Of one rank a doubtful block stands back behind a good
// one; a broken one stands back behind any of a farther rank too. blocks are
// of one step, by probe, with the placements' offsets already applied. False:
// none of the sources has a block.
func Piece(sources []Placement, blocks map[string]Block) (Block, bool) {
	for _, most := range [...]float64{brokenFrom, math.Inf(1)} {
		for i := 0; i < len(sources); {
			rank := sources[i].Position.Rank()
			j := i
			for j < len(sources) && sources[j].Position.Rank() == rank {
				j++
			}
			if heard := heardOf(sources[i:j], blocks, most); len(heard) > 0 {
				return mean(heard), true
			}
			i = j
		}
	}
	return Block{}, false
}

// heardOf gives what probes of one rank said with no more doubt than that: of
// those the ones in no doubt, if there are any.
func heardOf(sources []Placement, blocks map[string]Block, most float64) []Block {
	var good, all []Block
	for _, s := range sources {
		b, ok := blocks[s.Probe]
		if !ok || !finite(float64(b.Celsius)) || b.Doubt > most {
			continue
		}
		b.Probe, b.Position, b.Shelf = s.Probe, s.Position, s.Shelf
		if s.Accuracy > 0 {
			b.Accuracy = s.Accuracy
		}
		if b.Doubt == 0 {
			good = append(good, b)
			continue
		}
		b.Accuracy = math.Hypot(accuracyOf(b), b.Doubt)
		all = append(all, b)
	}
	if len(good) > 0 {
		return good
	}
	return all
}

// accuracyOf is how far a block may be off, what nobody stated included.
func accuracyOf(b Block) float64 {
	if b.Accuracy <= 0 {
		return UnknownAccuracy
	}
	return b.Accuracy
}

// mean joins blocks of one step. The probes' errors are independent, so that
// of the mean is the root of the sum of their squares over their number.
func mean(blocks []Block) Block {
	out := blocks[0]
	if len(blocks) == 1 {
		return out
	}
	var names []string
	sum, squares := 0.0, 0.0
	for _, b := range blocks {
		names = append(names, b.Probe)
		sum += float64(b.Celsius)
		accuracy := accuracyOf(b)
		squares += accuracy * accuracy
		out.Covered = max(out.Covered, b.Covered)
		out.Hot, out.Cold = worse(out.Hot, b.Hot), worse(out.Cold, b.Cold)
	}
	n := float64(len(blocks))
	out.Celsius = Celsius(sum / n)
	out.Accuracy = math.Sqrt(squares) / n
	out.Probe = strings.Join(names, probeSeparator)
	return out
}

// probeSeparator stands between the names of the probes of a mean. Probe ids
// are made of lower case letters, digits and dashes.
const probeSeparator = "+"
