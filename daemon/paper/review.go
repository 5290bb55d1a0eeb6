package paper

import (
	"cmp"
	"fmt"
	"io"

	"clutchd/incubation/handout"
)

// A space is how much a review may take: type, charts and lists.
type space struct {
	k      float64 // of type
	chart  float64 // height of a record's chart, mm
	course float64 // of those of the estimate, mm
	listed int     // lines of a list
}

// spaces are tried one after the other until a review fits its pages.
func spaces() []space {
	return []space{
		{1, 74, 48, 30},
		{0.95, 66, 44, 24},
		{0.9, 58, 40, 16},
		{0.85, 52, 37, 12},
		{0.8, 48, 34, 9},
		{0.8, 42, 30, 6},
		{0.8, 36, 28, 4},
		{0.8, 32, 26, 3},
	}
}

// Review prints the review of a clutch, on two pages at most unless its eggs
// lay apart more often than two pages can show.
func (Printer) Review(w io.Writer, r handout.Review) error {
	var p *page
	for _, s := range spaces() {
		var err error
		if p, err = reviewAt(r, s); err != nil {
			return err
		}
		if p.PageCount() <= mostPages {
			break
		}
	}
	return p.send(w)
}

func reviewAt(r handout.Review, s space) (*page, error) {
	p, err := newPage(r.Paper, r.Look, r.Title, s.k)
	if err != nil {
		return nil, err
	}
	p.foot = joined(r.Title, p.look.Site, "printed "+p.look.Date(p.look.Printed), r.URL)
	p.turn()
	p.reviewHead(r)
	p.eggTable(r)
	for i := range r.Of.Records {
		p.lain(r, i, s)
	}
	if len(r.Courses) > 0 {
		p.heading("The estimate on the way", s.course)
		p.courses(r, s.course)
	}
	p.written(r, s)
	p.notes("How to read this", r.Said)
	return p, nil
}

// reviewHead is the title, the clutch, what must be known first, and the code.
func (p *page) reviewHead(r handout.Review) {
	side, whole, top := 27*p.k, p.wide, p.y
	if p.code(r.URL, p.paper.Width-margin-side+2.5, margin-2.5, side) {
		p.wide -= side
	} else {
		side = 0
	}
	p.say(face{bold: true, size: 19 * p.k, ink: ink}, r.Title)
	p.say(p.small(), r.About)
	p.y += 1.5 * p.k
	name := 0.0
	for _, f := range r.Facts {
		name = max(name, p.width(p.small(), p.clean(f.Name))+4)
	}
	for _, f := range r.Facts {
		p.write(p.small(), p.x, p.y+0.5*p.k, p.clean(f.Name))
		p.sayIn(p.body(), f.Text, p.x+name, p.wide-name)
	}
	p.wide = whole
	p.y = max(p.y, top+side-2) + 1*p.k
	for _, text := range append([]string{r.Note}, r.Cautions...) {
		p.caution(text)
	}
}

// caution is a paragraph with a bar beside it: nobody is to read past it.
func (p *page) caution(text string) {
	if text == "" {
		return
	}
	high := p.heightOf(p.body(), text, p.wide-4)
	p.need(high + 1)
	p.fill(ink)
	p.Rect(p.x, p.y, 0.9, high, "F")
	p.sayIn(p.body(), text, p.x+4, p.wide-4)
	p.y += 1.2 * p.k
}

// eggTable tells the eggs side by side.
func (p *page) eggTable(r handout.Review) {
	if len(r.Marks) == 0 {
		return
	}
	name := min(0.2*p.wide, 36*p.k)
	cell := (p.wide - name) / float64(len(r.Marks))
	p.need(20 * p.k)
	p.y += 1 * p.k
	for i, m := range r.Marks {
		p.write(p.bold(), p.x+name+float64(i)*cell, p.y, p.cut(p.bold(), p.clean(m), cell-3))
	}
	p.y += p.bold().height() + 0.6*p.k
	p.rule(ink, 0.3)
	for _, row := range r.Rows {
		cells, wide := row.Cells, cell
		if row.Alike != "" {
			cells, wide = []string{row.Alike}, p.wide-name
		}
		high := p.heightOf(p.small(), row.Name, name-3)
		for _, c := range cells {
			high = max(high, p.heightOf(p.body(), c, wide-3))
		}
		p.need(high + 1.5*p.k)
		top := p.y
		p.y += (p.body().size - p.small().size) * perPoint * 0.97 // on one line with what is beside it
		p.sayIn(p.small(), row.Name, p.x, name-3)
		for i, c := range cells {
			p.y = top
			p.sayIn(p.body(), cmp.Or(c, "–"), p.x+name+float64(i)*wide, wide-3)
		}
		p.y = top + high + 0.4*p.k
		p.rule(hair, 0.1)
	}
}

// lain is what eggs lay at: the chart, its key, and what stands out of it.
func (p *page) lain(r handout.Review, i int, s space) {
	l := handout.Lain{Title: "What they lay at"}
	if i < len(r.Lain) {
		l = r.Lain[i]
	}
	p.heading(l.Title, s.chart+8*p.k)
	p.recordChart(r, i, s.chart)
	p.key()
	p.say(p.body(), l.Sums)
	p.excursions(l, s.listed)
	lists := []struct {
		name  string
		lines []handout.Line
	}{{"Where they lay", l.Stays}, {"Probes beside them", l.Probes}, {"No readings", l.Gaps}}
	for _, list := range lists {
		p.lines(list.name, list.lines, s.listed)
	}
}

func (p *page) excursions(l handout.Lain, most int) {
	shares := []float64{0.22, 0.14, 0.14, 0.5}
	for i, e := range l.Excursions {
		if i == 0 {
			p.listHead("Outside a limit")
		}
		if i == most {
			p.say(p.small(), fmt.Sprintf("and %d more: in the files", len(l.Excursions)-i))
			break
		}
		p.cells(shares, e.When, e.Lasted, e.Worst, e.Limit)
	}
	p.say(p.small(), l.More)
}

// lines is a list of what was when.
func (p *page) lines(name string, lines []handout.Line, most int) {
	for i, l := range lines {
		if i == 0 {
			p.listHead(name)
		}
		if i == most {
			p.say(p.small(), fmt.Sprintf("and %d more: in the files", len(lines)-i))
			return
		}
		p.cells([]float64{0.3, 0.34, 0.36}, l.When, l.What, l.Note)
	}
}

func (p *page) listHead(name string) {
	p.need(12 * p.k)
	p.y += 1.5 * p.k
	p.say(face{bold: true, size: 8.5 * p.k, ink: soft}, name)
}

// cells is one line of a list, in small type; each cell wraps in its own
// column.
func (p *page) cells(shares []float64, cells ...string) {
	f := face{size: 8.5 * p.k, ink: ink}
	high, x := 0.0, p.x
	for i, c := range cells {
		high = max(high, p.heightOf(f, c, shares[i]*p.wide-3))
	}
	p.need(high)
	top := p.y
	for i, c := range cells {
		p.y = top
		p.sayIn(f, c, x, shares[i]*p.wide-3)
		x += shares[i] * p.wide
	}
	p.y = top + high + 0.2*p.k
}

func (p *page) written(r handout.Review, s space) {
	if len(r.Written) == 0 {
		return
	}
	p.heading("Written down", 8*p.k)
	for i, l := range r.Written {
		if i == s.listed {
			p.say(p.small(), fmt.Sprintf("and %d more: in the files", len(r.Written)-i))
			return
		}
		p.cells([]float64{0.16, 0.14, 0.7}, l.When, l.Note, l.What)
	}
}

func (p *page) notes(head string, notes []string) {
	if len(notes) == 0 {
		return
	}
	p.heading(head, 8*p.k)
	f := face{size: 8.5 * p.k, ink: ink}
	for _, n := range notes {
		p.need(p.heightOf(f, n, p.wide-3*p.k))
		p.write(f, p.x, p.y, "–")
		p.sayIn(f, n, p.x+3*p.k, p.wide-3*p.k)
		p.y += 0.5 * p.k
	}
}

// key says what a chart's marks are.
func (p *page) key() {
	f := face{size: 7 * p.k, ink: soft}
	x, mid := p.x, p.y+f.height()/2
	entry := func(text string, draw func(x float64)) {
		wide := 7 + p.width(f, text) + 4
		if x+wide > p.x+p.wide {
			x, p.y = p.x, p.y+f.height()
			mid = p.y + f.height()/2
		}
		draw(x)
		p.write(f, x+7, p.y, text)
		x += wide
	}
	box := func(c colour) func(float64) {
		return func(x float64) { p.fill(c); p.Rect(x, mid-1, 6, 2, "F") }
	}
	line := func(c colour, width float64, dash ...float64) func(float64) {
		return func(x float64) {
			p.pen(c, width)
			p.SetDashPattern(dash, 0)
			p.Line(x, mid, x+6, mid)
			p.SetDashPattern(nil, 0)
		}
	}
	entry("mean", line(ink, 0.3))
	entry("lowest to highest", box(bandInk))
	entry("thermostat set to", line(soft, 0.25))
	entry("limit", line(limitInk, 0.3, 0.5, 0.8))
	entry("outside a limit", func(x float64) { p.fill(danger); p.Rect(x, mid-0.5, 6, 1.1, "F") })
	entry("TSP, paler: perhaps", func(x float64) {
		p.fill(edgeInk)
		p.Rect(x, mid-1, 6, 2, "F")
		p.fill(spanInk)
		p.Rect(x+1.5, mid-1, 3, 2, "F")
	})
	entry("no readings", func(x float64) {
		p.ClipRect(x, mid-1, 6, 2, false)
		p.pen(gapInk, 0.15)
		for s := x - 2; s < x+6; s += 1.6 {
			p.Line(s, mid+1, s+2, mid-1)
		}
		p.ClipEnd()
	})
	p.y += f.height() + 1*p.k
}
