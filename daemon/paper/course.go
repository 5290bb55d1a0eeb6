package paper

import (
	"cmp"
	"math"
	"slices"

	"clutchd/incubation/handout"
	"clutchd/incubation/review"
)

// courses draws how the estimate went: for each of those that were told apart,
// the chance of a male and the hatch window, side by side.
func (p *page) courses(r handout.Review, high float64) {
	const gap = 8
	ends := 17 * p.k // room for what is written behind a chart
	for _, c := range r.Courses {
		e := r.Of.Eggs[c.Egg]
		if len(e.Course) < 2 {
			continue
		}
		f := p.small()
		p.need(high + f.height())
		wide := (p.wide - gap) / 2
		p.sexCourse(e, handout.Rect{X: p.x + 11, Y: p.y + 6*p.k, Width: wide - 11, Height: high - 12*p.k})
		p.hatchCourse(r.Of, c, handout.Rect{X: p.x + wide + gap + 11, Y: p.y + 6*p.k, Width: wide - 11 - ends, Height: high - 12*p.k})
		p.y += high
		p.say(f, c.Title+". Line: what was likeliest; band: 9 of 10.")
		p.y += 1 * p.k
	}
}

func (p *page) chartTitle(a handout.Rect, text string) {
	f := face{bold: true, size: 8 * p.k, ink: ink}
	p.write(f, a.X-11, a.Y-f.height()-1.8*p.k, p.cut(f, p.clean(text), a.Width+11))
}

func (p *page) sexCourse(e review.Egg, at handout.Rect) {
	var run []dot
	for _, f := range e.Course {
		run = withDot(run, dot{f.Day, 100 * f.Low, 100 * f.Male, 100 * f.High})
	}
	p.chartTitle(at, "Chance of a male, by the day it was told")
	if len(run) < 2 {
		p.write(p.small(), at.X, at.Y, "not told")
		return
	}
	a := plot{Rect: at, left: 0, right: run[len(run)-1].x, low: 0, high: 100}
	p.grid(a, 5, "\u00a0%")
	p.floor(a, 6, nil)
	p.course(a, run)
}

// hatchCourse draws the window in days after the laying, and when the eggs of
// that course hatched.
func (p *page) hatchCourse(r review.Review, c handout.Course, at handout.Rect) {
	var run []dot
	low, high := math.Inf(1), math.Inf(-1)
	for _, f := range r.Eggs[c.Egg].Course {
		h := f.Hatch
		if h.Earliest.IsZero() || h.Likely.IsZero() || h.Latest.IsZero() {
			continue
		}
		d := dot{f.Day, r.Laid.DayOf(h.Earliest), r.Laid.DayOf(h.Likely), r.Laid.DayOf(h.Latest)}
		run, low, high = withDot(run, d), min(low, d.low), max(high, d.high)
	}
	p.chartTitle(at, "Hatch, day after laying, by the day it was told")
	if len(run) < 2 {
		p.write(p.small(), at.X, at.Y, "not told")
		return
	}
	for _, i := range c.Ends {
		if e := r.Eggs[i]; e.Against != nil && finite(e.Days) {
			low, high = min(low, e.Days), max(high, e.Days)
		}
	}
	room := max(1, 0.08*(high-low))
	a := plot{Rect: at, left: 0, right: run[len(run)-1].x, low: low - room, high: high + room}
	p.grid(a, 5, "")
	p.floor(a, 6, nil)
	p.course(a, run)
	p.came(a, r, c)
}

// came draws when eggs hatched, as lines across with their words behind them.
func (p *page) came(a plot, r review.Review, c handout.Course) {
	f := face{bold: true, size: 7 * p.k, ink: ink}
	ends := slices.Clone(c.Ends)
	slices.SortStableFunc(ends, func(i, j int) int { return cmp.Compare(r.Eggs[j].Days, r.Eggs[i].Days) })
	free := a.Y - f.height()
	for _, i := range ends { // the latest is the highest
		e := r.Eggs[i]
		if e.Against == nil || !finite(e.Days) {
			continue
		}
		y := a.y(e.Days)
		p.pen(ink, 0.3)
		p.SetDashPattern([]float64{1.2, 0.9}, 0)
		p.Line(a.X, y, a.X+a.Width, y)
		p.SetDashPattern(nil, 0)
		at := max(y-f.height()/2, free)
		p.write(f, a.X+a.Width+1.2, at, p.cut(f, p.clean(e.Mark+" hatched"), p.x+p.wide-a.X-a.Width-1.2))
		free = at + f.height()
	}
}

func (p *page) course(a plot, run []dot) {
	p.ribbon(a, run, courseInk)
	p.thread(a, run, ink, 0.35)
	p.fill(ink)
	for _, d := range run {
		p.Circle(a.x(d.x), a.y(d.mid), 0.55, "F")
	}
}
