package paper

import (
	"math"
	"strconv"

	"clutchd/incubation/handout"
)

// Inks of charts: those of the pages, in the light.
var (
	bandInk   = colour{205, 199, 187}
	courseInk = colour{226, 222, 213}
	spanInk   = colour{240, 235, 224}
	edgeInk   = colour{247, 244, 237}
	gapInk    = colour{150, 144, 132}
	limitInk  = colour{217, 154, 0}
	gridInk   = colour{226, 222, 214}
)

// A plot is the part of a page that a chart is drawn in, and the values at its
// edges.
type plot struct {
	handout.Rect
	left, right float64 // values of x
	low, high   float64 // of y
}

func (a plot) x(v float64) float64 { return a.X + a.Width*(v-a.left)/(a.right-a.left) }
func (a plot) y(v float64) float64 {
	return a.Y + a.Height*(1-(v-a.low)/(a.high-a.low))
}

// within keeps a value of x inside the chart.
func (a plot) within(v float64) float64 { return min(max(v, a.left), a.right) }

// ticksOf gives round values that cover a range with about so many steps, and
// the step.
func ticksOf(low, high float64, about int) (ticks []float64, step float64) {
	if !(high > low) || math.IsInf(high-low, 0) {
		return []float64{low}, 1
	}
	step = math.Pow(10, math.Floor(math.Log10((high-low)/float64(about))))
	for _, k := range []float64{1, 2, 5, 10} {
		if (high-low)/(step*k) <= float64(about) {
			step *= k
			break
		}
	}
	for n := math.Ceil(low/step - 1e-9); n*step <= high+1e-9*step; n++ {
		ticks = append(ticks, n*step)
	}
	return ticks, step
}

// figure writes a tick as its step needs it.
func figure(v, step float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	return minus(strconv.FormatFloat(v, 'f', decimals, 64))
}

// grid draws the lines of a chart's ticks, and writes them at its left.
func (p *page) grid(a plot, about int, suffix string) {
	f := face{size: 7 * p.k, ink: soft}
	ticks, step := ticksOf(a.low, a.high, about)
	for _, t := range ticks {
		p.pen(gridInk, 0.15)
		p.Line(a.X, a.y(t), a.X+a.Width, a.y(t))
		text := figure(t, step) + suffix
		p.write(f, a.X-1.5-p.width(f, text), a.y(t)-f.height()/2, text)
	}
}

// floor draws the line under a chart and writes days along it; dates too,
// where a date of a day is known.
func (p *page) floor(a plot, about int, date func(day float64) string) {
	p.pen(soft, 0.2)
	p.Line(a.X, a.Y+a.Height, a.X+a.Width, a.Y+a.Height)
	f := face{size: 7 * p.k, ink: soft}
	free := a.X - 20
	for _, t := range weeks(a.left, a.right, about) {
		x := a.x(t)
		p.pen(soft, 0.2)
		p.Line(x, a.Y+a.Height, x, a.Y+a.Height+1)
		text, below := "day "+figure(t, 1), ""
		if date != nil {
			below = p.clean(date(t))
		}
		wide := max(p.width(f, text), p.width(f, below))
		at := min(max(x-wide/2, a.X-6), a.X+a.Width-wide)
		if at < free {
			continue
		}
		p.write(f, at+(wide-p.width(f, text))/2, a.Y+a.Height+1.2, text)
		p.write(f, at+(wide-p.width(f, below))/2, a.Y+a.Height+1.2+f.height(), below)
		free = at + wide + 2
	}
}

// weeks gives round days: every so many weeks from the laying on.
func weeks(from, to float64, about int) []float64 {
	step := 1.0
	for _, step = range []float64{1, 2, 7, 14, 28, 56, 112} {
		if (to-from)/step <= float64(about) {
			break
		}
	}
	var out []float64
	for t := math.Ceil(from/step) * step; t <= to; t += step {
		out = append(out, t)
	}
	return out
}

// A dot is a value with its band at a value of x.
type dot struct{ x, low, mid, high float64 }

// withDot adds a dot to a run unless one of its values is no number.
func withDot(run []dot, d dot) []dot {
	if !finite(d.x, d.low, d.mid, d.high) {
		return run
	}
	return append(run, d)
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > 1e6 {
			return false
		}
	}
	return true
}

// ribbon draws the band of a run of values.
func (p *page) ribbon(a plot, run []dot, c colour) {
	if len(run) == 0 {
		return
	}
	p.fill(c)
	p.MoveTo(a.x(run[0].x), a.y(run[0].high))
	for _, d := range run[1:] {
		p.LineTo(a.x(d.x), a.y(d.high))
	}
	for i := len(run) - 1; i >= 0; i-- {
		p.LineTo(a.x(run[i].x), a.y(run[i].low))
	}
	p.ClosePath()
	p.DrawPath("F")
}

// thread draws the line of a run of values.
func (p *page) thread(a plot, run []dot, c colour, width float64) {
	if len(run) < 2 {
		return
	}
	p.pen(c, width)
	p.SetLineJoinStyle("round")
	p.MoveTo(a.x(run[0].x), a.y(run[0].mid))
	for _, d := range run[1:] {
		p.LineTo(a.x(d.x), a.y(d.mid))
	}
	p.DrawPath("D")
}
