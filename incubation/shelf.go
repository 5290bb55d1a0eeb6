package incubation

import (
	"maps"
	"math"
	"slices"
)

// A Shelf is what has been learned of a box against the air of the incubator
// that it stands in: how much warmer it is, and how sure that is, K.
type Shelf struct{ Kelvin, SD float64 }

// ShelfName names the shelf that a box stands on in an incubator.
func ShelfName(box, incubator string) string { return box + "@" + incubator }

// shelfDays is how much a box and its incubator must both have been measured
// before their difference counts, days. Judgement.
const shelfDays = 0.5

// LearnShelf gives what a box's own blocks and those of the air around it, of
// the same steps and matched by their starts, tell of the shelf. What follows
// from it for the eggs is no surer than the probe in the box was. False: too
// few of them match.
func LearnShelf(own, around []Block, r RecordSet) (Shelf, bool) {
	air := make(map[int64]moments, len(around)) // of several probes, their mean
	for _, b := range around {
		here := air[b.Start.Unix()]
		here.add(float64(b.Celsius))
		air[b.Start.Unix()] = here
	}
	daily := map[int64]*moments{}
	var all moments
	var nearest Block
	for _, b := range own {
		outside, measured := air[b.Start.Unix()]
		if !measured {
			continue
		}
		day := b.Start.Unix() / 86400
		if daily[day] == nil {
			daily[day] = &moments{}
		}
		daily[day].add(float64(b.Celsius) - outside.mean())
		all.add(float64(b.Celsius) - outside.mean())
		if nearest.Start.IsZero() || b.Position.Rank() < nearest.Position.Rank() {
			nearest = b
		}
	}
	if all.n < shelfDays*daySteps {
		return Shelf{}, false
	}
	squares := 0.0
	for _, day := range slices.Sorted(maps.Keys(daily)) { // in one order: bit for bit
		d := daily[day]
		off := d.mean() - all.mean()
		squares += d.n / all.n * off * off
	}
	accuracy := nearest.Accuracy
	if accuracy <= 0 {
		accuracy = UnknownAccuracy
	}
	sd := math.Hypot(math.Hypot(accuracy/2, r.position(nearest.Position)), math.Sqrt(squares))
	return Shelf{Kelvin: all.mean(), SD: sd}, true
}

type moments struct{ n, sum float64 }

func (m *moments) add(x float64) { m.n++; m.sum += x }
func (m *moments) mean() float64 { return m.sum / m.n }

// SetShelf says what was learned of a shelf, by the name that blocks have it
// under; nil: nothing could be. Stretches of which only the incubator was
// measured then count as the box.
func (t *Track) SetShelf(name string, s *Shelf) {
	if t.shelves == nil {
		t.shelves = map[string]*Shelf{}
	}
	t.shelves[name] = s
}

// Shelves gives the names of the shelves that the record rests on.
func (t *Track) Shelves() []string {
	var out []string
	for _, s := range t.sources {
		if s.position == IncubatorAir && s.shelf != "" {
			out = append(out, s.shelf)
		}
	}
	return out
}

// Unasked reports whether the record rests on a shelf, or has a gap, of which
// nobody has yet asked what the rest of the room tells.
func (t *Track) Unasked() bool {
	for _, name := range t.Shelves() {
		if _, asked := t.shelves[name]; !asked {
			return true
		}
	}
	return len(t.Gaps()) > t.askedGaps
}

// shelf gives what was learned of the shelf that a source measured around.
func (t *Track) shelf(s source) (Shelf, bool) {
	if s.position != IncubatorAir || s.shelf == "" {
		return Shelf{}, false
	}
	if learned := t.shelves[s.shelf]; learned != nil {
		return *learned, true
	}
	return Shelf{}, false
}
