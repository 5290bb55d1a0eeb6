package paper

import "clutchd/incubation/handout"

// margin is what a full page leaves white, mm.
const margin = 14

// A page is a press that fills pages from above; k scales its type.
type page struct {
	*press
	k    float64
	x, y float64 // where the next line begins
	wide float64 // of the column that is being filled
	foot string
}

// newPage begins a document with its first page.
func newPage(paper handout.Paper, look handout.Look, title string, k float64) (*page, error) {
	p, err := newPress(paper, look, title)
	if err != nil {
		return nil, err
	}
	out := &page{press: p, k: k, wide: paper.Width - 2*margin}
	return out, nil
}

// turn begins a new page.
func (p *page) turn() {
	p.AddPage()
	p.x, p.y = margin, margin
	if p.foot != "" {
		f := face{size: 7, ink: soft}
		p.write(f, margin, p.paper.Height-margin+0.6, p.cut(f, p.clean(p.foot), p.paper.Width-2*margin))
	}
}

// bottom is where a page is full, mm.
func (p *page) bottom() float64 { return p.paper.Height - margin - 1 }

// need turns the page unless so much room is left.
func (p *page) need(height float64) {
	if p.y+height > p.bottom() {
		p.turn()
	}
}

func (p *page) body() face  { return face{size: 9.5 * p.k, ink: ink} }
func (p *page) bold() face  { return face{bold: true, size: 9.5 * p.k, ink: ink} }
func (p *page) small() face { return face{size: 8 * p.k, ink: soft} }

// say writes a paragraph at the current place and moves below it.
func (p *page) say(f face, text string) { p.sayIn(f, text, p.x, p.wide) }

// sayIn writes a paragraph into a column and moves below it.
func (p *page) sayIn(f face, text string, x, width float64) {
	for _, line := range p.wrap(f, text, width) {
		p.need(f.height())
		p.write(f, x, p.y, line)
		p.y += f.height()
	}
}

// heightOf is what a paragraph takes.
func (p *page) heightOf(f face, text string, width float64) float64 {
	return float64(len(p.wrap(f, text, width))) * f.height()
}

// heading begins a section; keep is how much must stay with it.
func (p *page) heading(text string, keep float64) {
	f := face{bold: true, size: 12 * p.k, ink: ink}
	p.need(f.height() + 5*p.k + keep)
	p.y += 3.5 * p.k
	p.say(f, text)
	p.y += 0.8 * p.k
	p.rule(ink, 0.3)
}

// rule draws a line across the column and moves below it.
func (p *page) rule(c colour, width float64) {
	p.pen(c, width)
	p.Line(p.x, p.y, p.x+p.wide, p.y)
	p.y += 1.4 * p.k
}
