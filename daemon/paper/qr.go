package paper

import "rsc.io/qr"

// quiet is the white that a reader needs around a code, in modules (ISO/IEC
// 18004).
const quiet = 4

// code draws a QR code of a text into a square with its white rim, and reports
// whether it did: no text, or one too long for any code, leaves the square
// empty.
func (p *press) code(text string, x, y, side float64) bool {
	if text == "" {
		return false
	}
	c, err := qr.Encode(text, qr.M)
	if err != nil {
		return false
	}
	module := side / float64(c.Size+2*quiet)
	p.fill(colour{0, 0, 0})
	for row := range c.Size {
		for from := 0; from < c.Size; from++ {
			to := from
			for to < c.Size && c.Black(to, row) {
				to++
			}
			if to == from {
				continue
			}
			// A hair taller than a module, or light shows between the rows.
			p.Rect(x+module*float64(quiet+from), y+module*float64(quiet+row),
				module*float64(to-from), module*1.02, "F")
			from = to
		}
	}
	return true
}
