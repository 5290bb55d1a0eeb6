package paper

import (
	"fmt"
	"strings"

	"clutchd/incubation/handout"
)

// alerts tells each alert that could come: what it is called, when it comes
// and what to do first. Shape and word say how severe, colour says it again.
func (p *page) alerts(all []handout.Meaning) {
	groups := []struct{ severity, says string }{
		{"critical", "Critical: at once, at night too"},
		{"warning", "Warnings: the same day"},
	}
	if len(all) == 0 {
		return
	}
	p.heading("If a message comes", 14*p.k)
	for _, g := range groups {
		said := false
		for _, m := range all {
			if m.Severity != g.severity {
				continue
			}
			if !said {
				p.need(12 * p.k)
				p.mark(g.severity, p.x, p.y+0.8*p.k, 2.6*p.k)
				f := face{bold: true, size: 9.5 * p.k, ink: stateInk(g.severity)}
				p.sayIn(f, g.says, p.x+4.5*p.k, p.wide)
				p.y += 0.6 * p.k
				said = true
			}
			p.meaning(m)
		}
	}
	p.meaning(handout.Meaning{
		Title: "Any other message",
		First: "It can wait until the keeper has seen it: send it on. Many at once, or unsure: call.",
	})
}

// meaning is one alert: its name and condition left, what to do right.
func (p *page) meaning(m handout.Meaning) {
	left := 0.36*p.wide - 4
	x := p.x + 0.36*p.wide
	high := max(p.heightOf(p.bold(), m.Title, left)+p.heightOf(p.small(), m.When, left),
		p.heightOf(p.body(), m.First, p.wide-0.36*p.wide))
	p.need(high + 1.6*p.k)
	top := p.y
	p.sayIn(p.bold(), m.Title, p.x, left)
	p.sayIn(p.small(), m.When, p.x, left)
	bottom := p.y
	p.y = top
	p.sayIn(p.body(), m.First, x, p.wide-0.36*p.wide)
	p.y = max(bottom, p.y) + 0.6*p.k
	p.rule(hair, 0.1)
}

func stateInk(severity string) colour {
	if severity == "critical" {
		return danger
	}
	return warning
}

// mark draws the shape of a severity as the pages have it: a square, or a
// triangle on its base.
func (p *page) mark(severity string, x, y, side float64) {
	p.fill(stateInk(severity))
	if severity == "critical" {
		p.Rect(x, y, side, side, "F")
		return
	}
	p.MoveTo(x+side/2, y)
	p.LineTo(x+side, y+side)
	p.LineTo(x, y+side)
	p.ClosePath()
	p.DrawPath("F")
}

// rooms tells what is where; most is how many boxes of one incubator are
// listed.
func (p *page) rooms(s handout.Sheet, most int) {
	if len(s.Incubators)+len(s.Others) == 0 {
		return
	}
	p.heading("What is where", 12*p.k)
	for _, c := range s.Incubators {
		p.cabinet(c, most)
	}
	if len(s.Others) == 0 {
		return
	}
	p.need(10 * p.k)
	p.y += 1 * p.k
	p.say(p.bold(), "Animals")
	for i, o := range s.Others {
		if i == 2*most {
			p.say(p.small(), fmt.Sprintf("and %d more: see the pages", len(s.Others)-i))
			break
		}
		p.columns(o.Name, o.Holds, p.limits(o))
	}
}

func (p *page) cabinet(c handout.Cabinet, most int) {
	p.need(9 * p.k)
	p.y += 1 * p.k
	set := "setpoint not known"
	if c.Setpoint != nil || len(c.Steps) > 0 {
		set = "s" + p.setTo(c.Plan)[1:]
	}
	f := face{bold: true, size: 10.5 * p.k, ink: ink}
	name := p.cut(f, p.clean(c.Name), 0.45*p.wide)
	at := p.x + p.width(f, name) + 3
	p.need(f.height())
	p.write(f, p.x, p.y, name)
	p.y += (f.size - p.body().size) * perPoint * 0.97
	p.sayIn(p.body(), set, at, p.x+p.wide-at)
	p.y += 0.5 * p.k
	for i, b := range c.Boxes {
		if i == most {
			p.say(p.small(), fmt.Sprintf("and %d more boxes: see the pages", len(c.Boxes)-i))
			return
		}
		p.columns(b.Name, b.Eggs, p.due(b))
	}
	if len(c.Boxes) == 0 {
		p.say(p.small(), "no box with eggs")
	}
}

func (p *page) due(b handout.Stands) string {
	if strings.TrimSpace(b.Eggs) == "" {
		return ""
	}
	return strings.ToLower(p.hatch(b.Hatch)[:1]) + p.hatch(b.Hatch)[1:]
}

func (p *page) limits(o handout.Kept) string {
	switch {
	case o.Low != nil && o.High != nil:
		return p.number(*o.Low) + " to " + p.degrees(*o.High)
	case o.Low != nil:
		return "not under " + p.degrees(*o.Low)
	case o.High != nil:
		return "not over " + p.degrees(*o.High)
	}
	return ""
}

// columns is one line of a list: a name, what is there, and a remark. Each
// wraps in its own column.
func (p *page) columns(cells ...string) {
	shares := []float64{0.24, 0.42, 0.34}
	high, x := 0.0, p.x
	for i, c := range cells {
		high = max(high, p.heightOf(p.body(), c, shares[i]*p.wide-3))
	}
	p.need(high)
	top := p.y
	for i, c := range cells {
		p.y = top
		p.sayIn(p.body(), c, x, shares[i]*p.wide-3)
		x += shares[i] * p.wide
	}
	p.y = top + high + 0.5*p.k
	p.rule(hair, 0.1)
}
