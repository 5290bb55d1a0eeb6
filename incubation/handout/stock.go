package handout

import "fmt"

// A Stock is a sheet of labels, told by its geometry alone: so many across and
// down, the first one's corner, and how far it is from one to the next. mm.
type Stock struct {
	Name          string // what a form sends: "A4-3x8-70x37"
	Paper         Paper
	Across, Down  int
	Width, Height float64 // of one label
	Left, Top     float64 // of the first label's corner
	StepX, StepY  float64 // from a label's corner to the next one's
	Size          string  // as people measure it: "70 × 37 mm"
}

// A Rect is a part of a sheet, from its upper left corner, mm.
type Rect struct{ X, Y, Width, Height float64 }

// PerSheet is how many labels a sheet has.
func (s Stock) PerSheet() int { return s.Across * s.Down }

// Cell gives the sheet, from 0, and the place on it of the label at position
// n, counted from 0 along rows.
func (s Stock) Cell(n int) (sheet int, r Rect) {
	on := n % s.PerSheet()
	return n / s.PerSheet(), Rect{
		X: s.Left + float64(on%s.Across)*s.StepX, Y: s.Top + float64(on/s.Across)*s.StepY,
		Width: s.Width, Height: s.Height,
	}
}

// unprintable is what a household printer leaves white along every edge, mm
// (common practice, no source); padding is what a label leaves white along
// its own.
const (
	unprintable = 5
	padding     = 2
)

// Inside is the part of a label that may be printed on: its own padding, and
// what the printer leaves white along the sheet's edge, taken off.
func (s Stock) Inside(r Rect) Rect {
	left, top := max(r.X+padding, unprintable), max(r.Y+padding, unprintable)
	right := min(r.X+r.Width-padding, s.Paper.Width-unprintable)
	bottom := min(r.Y+r.Height-padding, s.Paper.Height-unprintable)
	return Rect{X: left, Y: top, Width: right - left, Height: bottom - top}
}

// Says tells a stock to people.
func (s Stock) Says() string {
	return fmt.Sprintf("%s, %d across, %d down, %s", s.Paper.Name, s.Across, s.Down, s.Size)
}

const inch = 25.4

// Stocks are the label sheets that can be chosen. Their sizes are common ones,
// from memory; margins follow by centring them. A sheet held beside a page
// printed on plain paper tells whether it is the same.
func Stocks() []Stock {
	return []Stock{
		gridded(A4(), 3, 7, Rect{Width: 63.5, Height: 38.1}, 2.54, "63.5 × 38.1 mm"),
		gridded(A4(), 3, 8, Rect{Width: 70, Height: 37}, 0, "70 × 37 mm"),
		gridded(A4(), 2, 7, Rect{Width: 99.1, Height: 38.1}, 2.5, "99.1 × 38.1 mm"),
		gridded(A4(), 2, 4, Rect{Width: 99.1, Height: 67.7}, 2.5, "99.1 × 67.7 mm"),
		gridded(Letter(), 3, 10, Rect{Width: 2.625 * inch, Height: inch}, 0.125*inch, "2 5/8 × 1 in"),
		gridded(Letter(), 2, 7, Rect{Width: 4 * inch, Height: 4 * inch / 3}, 0.1875*inch, "4 × 1 1/3 in"),
		gridded(Letter(), 2, 5, Rect{Width: 4 * inch, Height: 2 * inch}, 0.1875*inch, "4 × 2 in"),
	}
}

// gridded is a stock whose labels touch from row to row, gap mm apart from
// column to column, in the middle of the sheet.
func gridded(p Paper, across, down int, label Rect, gap float64, size string) Stock {
	step := label.Width + gap
	return Stock{
		Name:  fmt.Sprintf("%s-%dx%d", p.Name, across, down),
		Paper: p, Across: across, Down: down, Size: size,
		Width: label.Width, Height: label.Height, StepX: step, StepY: label.Height,
		Left: (p.Width - float64(across)*step + gap) / 2,
		Top:  (p.Height - float64(down)*label.Height) / 2,
	}
}

// StockNamed gives the stock of a name; false if there is none.
func StockNamed(name string) (Stock, bool) {
	for _, s := range Stocks() {
		if s.Name == name {
			return s, true
		}
	}
	return Stock{}, false
}
