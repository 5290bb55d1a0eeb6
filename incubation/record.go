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
// step: the mean of the nearest rank that said anything. blocks are of one
// step, by probe, with the placements' offsets already applied. False: none of
// the sources has a block.
func Piece(sources []Placement, blocks map[string]Block) (Block, bool) {
	for i := 0; i < len(sources); {
		rank := sources[i].Position.Rank()
		j := i
		var heard []Block
		for ; j < len(sources) && sources[j].Position.Rank() == rank; j++ {
			b, ok := blocks[sources[j].Probe]
			if !ok || !finite(float64(b.Celsius)) {
				continue
			}
			b.Probe, b.Position, b.Shelf = sources[j].Probe, sources[j].Position, sources[j].Shelf
			if sources[j].Accuracy > 0 {
				b.Accuracy = sources[j].Accuracy
			}
			heard = append(heard, b)
		}
		if len(heard) > 0 {
			return mean(heard), true
		}
		i = j
	}
	return Block{}, false
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
		accuracy := b.Accuracy
		if accuracy <= 0 {
			accuracy = UnknownAccuracy
		}
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
