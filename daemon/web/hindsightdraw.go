package web

import (
	"fmt"
	"math"

	"clutchd/incubation/learn"
)

// A drawing is lines, dots and words 720 wide, for hindsight.html.
type drawing struct {
	Text   string // what it shows, for those who do not see it
	Height string
	Lines  []rect // x, y to w, h
	Dots   []dot
	Labels []label
}

// A dot is a filled one or an open one.
type dot struct{ Class, X, Y, Title string }

func (d *drawing) line(class string, a, b corner) {
	d.Lines = append(d.Lines, rect{Class: class, X: num(a.x), Y: num(a.y), W: num(b.x), H: num(b.y)})
}

const (
	plotLeft  = 92.0 // room for "100 %"
	stripSide = 40.0 // room for half a label
	stripRow  = 16.0 // height of an egg
	stripMost = 30   // days beyond which the strip does not reach
)

// A pastDot is an egg of the strip.
type pastDot struct {
	name string
	said learn.Said
}

// pastDots are the eggs that hatched and had a window.
func (v *visit) pastDots(eggs []learn.Past) []pastDot {
	var out []pastDot
	for _, p := range eggs {
		if p.Found.IsZero() || p.Shipped.Latest.IsZero() {
			continue
		}
		name := p.Egg
		if e := v.snap.Book.Eggs[p.Egg]; e != nil {
			name = p.Clutch + " " + e.Mark
		}
		out = append(out, pastDot{name, p.Shipped})
	}
	return out
}

// edges are a window's ends, in days from the likeliest date.
func edges(s learn.Said) (from, to float64) {
	return s.Earliest.Sub(s.Likely).Hours() / 24, s.Latest.Sub(s.Likely).Hours() / 24
}

// strip draws each egg's window about its likeliest date, and the day it came.
func strip(eggs []pastDot) *drawing {
	if len(eggs) == 0 {
		return nil
	}
	reach, inside := reachOf(eggs), 0
	x := func(days float64) float64 {
		return 360 + min(1, max(-1, days/reach))*(360-stripSide)
	}
	floor := chartTop + stripRow*float64(len(eggs))
	d := &drawing{Height: num(floor + 42)}
	for k := -2; k <= 2; k++ {
		days := float64(k) * reach / 2
		class := "grid"
		if k == 0 {
			class = "now"
		}
		d.line(class, corner{x(days), chartTop - 6}, corner{x(days), floor + 4})
		d.Labels = append(d.Labels, label{"axis", num(x(days)), num(floor + 32), "middle", signed(days)})
	}
	for i, e := range eggs {
		y := chartTop + stripRow*(float64(i)+0.5)
		from, to := edges(e.said)
		d.line("reach", corner{x(from), y}, corner{x(to), y})
		at := dot{"open", num(x(e.said.Late)), num(y), e.name + ": " + came(e.said)}
		if e.said.Inside {
			at.Class = "at"
			inside++
		}
		d.Dots = append(d.Dots, at)
	}
	d.Text = fmt.Sprintf("Days from the likeliest date, an egg in each row, newest first: %d of %d "+
		"inside their windows.", inside, len(eggs))
	return d
}

// reachOf is how many days the strip shows on either side: ten, or as many as
// hold every window and egg.
func reachOf(eggs []pastDot) float64 {
	reach := 10.0
	for _, e := range eggs {
		from, to := edges(e.said)
		for reach < stripMost && max(-from, to, math.Abs(e.said.Late)) > reach {
			reach += 5
		}
	}
	return reach
}

// signed is a number of days with its sign, for an axis.
func signed(days float64) string {
	if days > 0 {
		return "+" + num(days)
	}
	return minus(num(days))
}

// dots draws what was said of a male against what came, by band: on the
// dashed line the two agree.
func dots(h learn.Hindsight) *drawing {
	if h.Shipped.Sexed == 0 {
		return nil
	}
	x := func(share float64) float64 { return plotLeft + (chartRight-plotLeft-30)*share }
	y := func(share float64) float64 { return chartFloor - (chartFloor-chartTop-6)*share }
	d := &drawing{Height: "420", Text: "Share of males that came, against what was said of them."}
	for _, at := range []float64{0, 0.25, 0.5, 0.75, 1} {
		d.line("grid", corner{x(0), y(at)}, corner{x(1), y(at)})
		d.line("grid", corner{x(at), chartFloor}, corner{x(at), chartFloor + 6})
		if at == 0.25 || at == 0.75 {
			continue
		}
		d.Labels = append(d.Labels,
			label{"degrees", num(plotLeft - 8), num(y(at)), "end", percent(at)},
			label{"axis", num(x(at)), num(chartFloor + 32), "middle", percent(at)})
	}
	d.Labels = append(d.Labels,
		label{"axis", num(x(0) + 8), num(chartTop + 30), "start", "males that came"},
		label{"axis", num(x(0.5)), num(chartFloor + 64), "middle", "males as said"})
	d.line("aim plan", corner{x(0), y(0)}, corner{x(1), y(1)})
	at := func(aside float64) func(learn.Band) corner {
		return func(b learn.Band) corner { return corner{x(b.Said) + aside, y(cameMale(b))} }
	}
	// Aside, so that both are seen where they agree.
	d.bands(h.Learned, dot{Class: "open"}, at(6), y)
	d.bands(h.Shipped, dot{Class: "at"}, at(-6), y)
	return d
}

// cameMale is the share of males that came.
func cameMale(b learn.Band) float64 { return float64(b.Males) / float64(b.Eggs) }

// bands draws each band's dot and the interval about it, thin where that
// tells nothing.
func (d *drawing) bands(m learn.Marks, like dot, at func(learn.Band) corner,
	y func(float64) float64,
) {
	for _, b := range m.Reliability {
		if b.Eggs == 0 {
			continue
		}
		c := at(b)
		class := "whisker"
		if b.High-b.Low > tellsNothing {
			class = "whisker few"
		}
		d.line(class, corner{c.x, y(b.Low)}, corner{c.x, y(b.High)})
		like.X, like.Y = num(c.x), num(c.y)
		like.Title = fmt.Sprintf("said %s: %d of %d came male", share(b.Said), b.Males, b.Eggs)
		d.Dots = append(d.Dots, like)
	}
}
