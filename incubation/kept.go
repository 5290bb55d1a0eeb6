package incubation

import (
	"slices"
	"time"
)

// Kept is what the egg's place has kept since a time, at most over the day
// before the last block: the mean of the middle half of what was read, which a
// door or a few hours without heat do not move, with what was learned of its
// shelf. False: not an hour was read.
func (t *Track) Kept(since time.Time) (Celsius, bool) {
	last, recorded := t.Last()
	if !recorded {
		return 0, false
	}
	read := t.readSince(max(t.day(since), t.day(last.End())-1))
	if len(read) < hourSteps {
		return 0, false
	}
	slices.Sort(read)
	return Celsius(average(read[len(read)/4 : len(read)-len(read)/4])), true
}

// lately is the mean of what was read in the day that ended with the last
// block, shelves added.
func (t *Track) lately(last Block) float64 {
	return average(t.readSince(t.day(last.End()) - 1))
}

// readSince gives what was read from a day on, newest first, shelves added; if
// that is nothing, what was read last.
func (t *Track) readSince(day float64) []float64 {
	var out []float64
	for k := len(t.parts) - 1; k >= 0; k-- {
		r := t.parts[k].run
		if r == nil {
			continue
		}
		shelf, _ := t.shelf(t.sources[r.source])
		for j := len(r.steps) - 1; j >= 0; j-- {
			if r.at(j) < day-days(BlockLength)/2 {
				return out
			}
			out = append(out, float64(r.steps[j])+shelf.Kelvin)
		}
	}
	if len(out) == 0 {
		shelf, _ := t.shelf(t.sources[t.source(t.last)])
		out = append(out, float64(t.last.Celsius)+shelf.Kelvin)
	}
	return out
}
