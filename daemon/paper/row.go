package paper

import (
	"slices"

	"clutchd/incubation/handout"
)

// A row is one thing said on a label: on so many lines at most.
type row struct {
	text  string
	face  face
	most  int
	spare bool // is left out before anything else is cut
	lines []string
}

// Type grows with a label and shrinks until what it says fits; below the
// smallest, text is cut instead (judgement: 6.5 points are then 4.9).
const (
	largest  = 1.8
	usual    = 1.2
	perTall  = 30 // a label so high, mm, takes type as it is
	smallest = 0.75
	stepDown = 0.05
)

// label draws rows on the left and the code on the right, within a part of
// the sheet; nothing reaches beyond it.
func (p *press) label(in handout.Rect, rows []row, url string) {
	side := 0.0
	if url != "" {
		side = min(in.Height, 0.42*in.Width, 34)
		if !p.code(url, in.X+in.Width-side, in.Y+(in.Height-side)/2, side) {
			side = 0
		}
	}
	width := in.Width - side
	rows = slices.DeleteFunc(rows, func(r row) bool { return p.clean(r.text) == "" })
	set, least := p.set(rows, smallest, width)
	if tall(set) > in.Height {
		rows = slices.DeleteFunc(rows, func(r row) bool { return r.spare })
		set, least = p.set(rows, smallest, width)
	}
	for k := min(largest, max(usual, in.Height/perTall)); k > smallest; k -= stepDown {
		// What is cut at the smallest size is too long for any: it makes the
		// rest no smaller.
		if at, cuts := p.set(rows, k, width); cuts <= least && tall(at) <= in.Height {
			set = at
			break
		}
	}
	p.draw(in, squeezed(set, in.Height), width)
}

// set breaks rows into lines at a size and counts those that had to be cut.
func (p *press) set(rows []row, k, width float64) (set []row, cuts int) {
	for _, r := range rows {
		r, whole := p.shrunk(r, k, width)
		if !whole {
			cuts++
		}
		set = append(set, r)
	}
	return set, cuts
}

// shrunk sets one row at a size, or at a smaller one of its own where it is
// too long for its lines; whole is false where it is still.
func (p *press) shrunk(r row, k, width float64) (set row, whole bool) {
	factors := []float64{1, 0.93, 0.87, 0.8}
	tries := []int{1, r.most} // one line of smaller type before two
	for i, most := range tries {
		if i == len(tries)-1 && r.face.size > 9 {
			factors = append(factors, 0.72, 0.65)
		}
		for _, own := range factors {
			set = r
			set.face = r.face.times(k * own)
			if set.lines, whole = p.wrapTo(set.face, r.text, width, most); whole {
				return set, true
			}
		}
	}
	return set, false
}

func tall(rows []row) float64 {
	sum := 0.0
	for _, r := range rows {
		sum += float64(len(r.lines)) * r.face.height()
	}
	return sum
}

// squeezed gives up lines until the rows are no taller than the label: first
// all but the first of each, from below, then whole rows.
func squeezed(rows []row, height float64) []row {
	for i := len(rows) - 1; i >= 0 && tall(rows) > height; i-- {
		if n := len(rows[i].lines); n > 1 {
			rows[i].lines = []string{rows[i].lines[0] + "…"}
		}
	}
	for tall(rows) > height && len(rows) > 0 {
		rows = rows[:len(rows)-1]
	}
	return rows
}

// draw centres the rows from top to bottom.
func (p *press) draw(in handout.Rect, rows []row, width float64) {
	y := in.Y + (in.Height-tall(rows))/2
	for _, r := range rows {
		for _, line := range r.lines {
			p.write(r.face, in.X, y, p.cut(r.face, line, width))
			y += r.face.height()
		}
	}
}
