package paper

import (
	"fmt"
	"io"
	"strings"

	"clutchd/incubation/handout"
)

// mostLabels keeps one order to what a person can have meant.
const mostLabels = 2000

// Labels prints sheets of labels.
func (Printer) Labels(w io.Writer, l handout.Labels) error {
	n := len(l.Boxes) + len(l.Slots)
	first := max(1, l.First) - 1
	switch {
	case n == 0:
		return fmt.Errorf("print labels: there is none to print")
	case n > mostLabels:
		return fmt.Errorf("print labels: %d at once, %d at most", n, mostLabels)
	case l.Stock.PerSheet() < 1:
		return fmt.Errorf("print labels: the sheet has no labels")
	case first >= l.Stock.PerSheet():
		return fmt.Errorf("print labels: begin at label %d of a sheet of %d", first+1, l.Stock.PerSheet())
	}
	p, err := newPress(l.Stock.Paper, l.Look, "Labels")
	if err != nil {
		return err
	}
	sheet := -1
	for i := range n {
		on, cell := l.Stock.Cell(first + i)
		if on != sheet {
			sheet = on
			p.AddPage()
			if l.CutMarks {
				p.cutMarks(l.Stock, l.Right, l.Down)
			}
		}
		inside := l.Stock.Inside(cell)
		inside.X, inside.Y = inside.X+l.Right, inside.Y+l.Down
		if i < len(l.Boxes) {
			p.boxLabel(inside, l.Boxes[i])
		} else {
			p.slotLabel(inside, l.Slots[i-len(l.Boxes)])
		}
	}
	return p.send(w)
}

// cutMarks draws a cross at every corner of a label: one side's marks are its
// neighbour's.
func (p *press) cutMarks(s handout.Stock, right, down float64) {
	const arm = 1.5
	p.pen(hair, 0.15)
	for i := range s.PerSheet() {
		_, c := s.Cell(i)
		for _, x := range []float64{c.X, c.X + c.Width} {
			for _, y := range []float64{c.Y, c.Y + c.Height} {
				p.Line(x+right-arm, y+down, x+right+arm, y+down)
				p.Line(x+right, y+down-arm, x+right, y+down+arm)
			}
		}
	}
}

// boxLabel is what must be known beside the incubator, the most asked first.
func (p *press) boxLabel(in handout.Rect, b handout.Box) {
	head, clutch := b.Dam, b.Clutch
	if p.clean(head) == "" {
		head, clutch = b.Clutch, ""
	}
	rows := []row{
		{text: head, face: face{bold: true, size: 12, ink: ink}, most: 2},
		{text: joined(eggs(b.Eggs), clutch), face: face{bold: true, size: 9.5, ink: ink}, most: 2},
		{text: p.laid(b), face: face{size: 8.5, ink: ink}, most: 1},
		{text: p.setTo(b.Plan), face: face{size: 8.5, ink: ink}, most: 2},
		{text: p.hatch(b.Hatch), face: face{bold: true, size: 9, ink: ink}, most: 1},
		{text: p.asOf(b.Hatch), face: face{size: 6.5, ink: soft}, most: 1},
		{text: b.In, face: face{size: 6.5, ink: soft}, most: 1, spare: true},
	}
	p.label(in, rows, b.URL)
}

func (p *press) slotLabel(in handout.Rect, s handout.Slot) {
	rows := []row{
		{text: s.Name, face: face{bold: true, size: 16, ink: ink}, most: 3},
		{text: s.Rack, face: face{size: 9, ink: ink}, most: 2},
	}
	if s.URL != "" {
		rows = append(rows, row{
			text: "The code opens who lives here.", face: face{size: 6.5, ink: soft}, most: 2,
		})
	}
	p.label(in, rows, s.URL)
}

func eggs(marks []string) string {
	switch len(marks) {
	case 0:
		return ""
	case 1:
		return "Egg " + marks[0]
	}
	return "Eggs " + strings.Join(marks, " ")
}

// joined puts a dot between what there is.
func joined(parts ...string) string {
	var have []string
	for _, s := range parts {
		if strings.TrimSpace(s) != "" {
			have = append(have, s)
		}
	}
	return strings.Join(have, " · ")
}

func (p *press) laid(b handout.Box) string {
	if b.Laid.From.IsZero() && b.Laid.To.IsZero() {
		return ""
	}
	return "Laid " + p.look.Dates(b.Laid.From, b.Laid.To)
}

func (p *press) setTo(l handout.Plan) string {
	if says := p.plan(l); says != "" {
		return "Set to " + says
	}
	return ""
}

// plan tells the setpoint and what is to become of it: "28.0 °C; 20 Mar:
// 32.0 °C".
func (p *press) plan(l handout.Plan) string {
	var parts []string
	if l.Setpoint != nil {
		parts = append(parts, p.degrees(*l.Setpoint))
	}
	for _, s := range l.Steps {
		what := s.Says
		if s.Celsius != nil {
			what = p.degrees(*s.Celsius)
		}
		if !s.At.IsZero() {
			what = p.look.Near(s.At) + ": " + what
		}
		parts = append(parts, what)
	}
	return strings.Join(parts, "; ")
}

func (p *press) hatch(w handout.Window) string {
	switch {
	case w.Overdue:
		return "Hatch overdue: look, and wait"
	case !w.Known():
		return "Hatch not known yet"
	}
	return "Hatch " + p.look.Dates(w.Earliest, w.Latest)
}

func (p *press) asOf(w handout.Window) string {
	if !w.Known() {
		return "printed " + p.look.Date(p.look.Printed)
	}
	return "by the record so far, printed " + p.look.Date(p.look.Printed)
}
