package paper

import (
	"strings"
	"unicode/utf8"
)

// A face is a weight and a size in points.
type face struct {
	bold bool
	size float64
	ink  colour
}

// leading is from one baseline to the next, of the type's size.
const leading = 1.22

// perPoint is a point in mm.
const perPoint = 25.4 / 72

// height is of one line, mm.
func (f face) height() float64 { return f.size * perPoint * leading }

func (f face) times(k float64) face {
	f.size *= k
	return f
}

func (p *press) use(f face) {
	style := ""
	if f.bold {
		style = "B"
	}
	p.SetFont(family, style, f.size)
	p.SetTextColor(f.ink[0], f.ink[1], f.ink[2])
}

// width measures a text that is clean, mm. The writer would measure as well,
// and leave a trace in the file each time.
func (p *press) width(f face, text string) float64 {
	sum := 0.0
	for _, r := range text {
		sum += p.advance(f, r)
	}
	return sum
}

func (p *press) advance(f face, r rune) float64 {
	if f.bold {
		return p.bold[r] * f.size * perPoint
	}
	return p.regular[r] * f.size * perPoint
}

// write draws a clean text whose line begins at x and has its top at y.
func (p *press) write(f face, x, y float64, text string) {
	p.use(f)
	p.Text(x, y+f.size*perPoint*0.97, text)
}

// cut shortens a clean text to a width, with an ellipsis where it was longer.
func (p *press) cut(f face, text string, width float64) string {
	if p.width(f, text) <= width {
		return text
	}
	end, sum := 0, p.advance(f, '…')
	for i, r := range text {
		if sum += p.advance(f, r); sum > width {
			break
		}
		end = i + utf8.RuneLen(r)
	}
	if end == 0 {
		return ""
	}
	return strings.TrimRight(text[:end], " ,") + "…"
}

// wrap breaks a text into lines of a width, between words where it can and
// inside one that is longer than a line. No text: no line.
func (p *press) wrap(f face, text string, width float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsFuncSeq(p.clean(text), func(r rune) bool { return r == ' ' }) {
		next := word
		if line != "" {
			next = line + " " + word
		}
		if p.width(f, next) <= width {
			line = next
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for p.width(f, word) > width {
			head := p.head(f, word, width)
			lines, word = append(lines, head), word[len(head):]
		}
		line = word
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// head is as much of a word as a width takes, one character at least.
func (p *press) head(f face, word string, width float64) string {
	end := 0
	for i, r := range word {
		next := i + utf8.RuneLen(r)
		if end > 0 && p.width(f, word[:next]) > width {
			break
		}
		end = next
	}
	return word[:end]
}

// wrapTo wraps into so many lines at most; whole is false where the rest had
// to be cut.
func (p *press) wrapTo(f face, text string, width float64, most int) (lines []string, whole bool) {
	lines = p.wrap(f, text, width)
	if len(lines) <= most {
		return lines, true
	}
	rest := strings.Join(lines[most-1:], " ")
	return append(lines[:most-1:most-1], p.cut(f, rest+" …", width)), false
}
