package paper

import (
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/handout"
	"clutchd/incubation/review"
)

// near is how far beyond what was read a limit is still drawn, K: one far off
// would press the record flat.
const near = 1.5

// recordChart draws what eggs lay at, over the whole width, so many mm high.
func (p *page) recordChart(r handout.Review, i int, high float64) {
	k := &r.Of.Records[i]
	p.need(high)
	a := p.recordPlot(r.Of, k, handout.Rect{X: p.x + 11, Y: p.y + 4*p.k, Width: p.wide - 11, Height: high - 13*p.k})
	if a.high <= a.low {
		p.say(p.small(), "No reading speaks for this time.")
		return
	}
	p.spans(a, r.Of, i)
	p.grid(a, 6, "")
	p.floor(a, 10, func(day float64) string {
		return p.look.Near(r.Of.Laid.Middle().Add(time.Duration(day * 24 * float64(time.Hour))))
	})
	p.write(face{size: 7 * p.k, ink: soft}, p.x, p.y-0.4, p.unit())
	p.silences(a, r.Of, k)
	p.readings(a, r.Of, k)
	p.aims(a, r.Of, k)
	p.fences(a, r.Of, k)
	p.outside(a, r.Of, k)
	p.moves(a, r.Of, k)
	p.ends(a, r.Of, i)
	p.y += high
}

// recordPlot fits a chart to a record.
func (p *page) recordPlot(r review.Review, k *review.Record, at handout.Rect) plot {
	low, high := math.Inf(1), math.Inf(-1)
	fit := func(c incubation.Celsius) {
		if v := p.scaled(float64(c)); finite(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	for _, d := range k.Points {
		fit(d.Low)
		fit(d.High)
	}
	for _, s := range k.Setpoints {
		fit(s.Celsius)
	}
	if !math.IsInf(low, 0) {
		reach := near * (p.scaled(1) - p.scaled(0))
		for _, l := range slices.Concat(k.Inner(true), k.Inner(false)) {
			if v := p.scaled(float64(l.Celsius)); v > low-reach && v < high+reach {
				fit(l.Celsius)
			}
		}
		room := max(0.06*(high-low), 0.3)
		low, high = low-room, high+room
	}
	a := plot{Rect: at, left: r.Laid.DayOf(k.From), right: r.Laid.DayOf(k.To), low: low, high: high}
	if !(a.right > a.left) || math.IsInf(low, 0) {
		a.low, a.high = 0, 0
	}
	return a
}

// spans shades the TSP: where it likely was, and paler where it may have been.
func (p *page) spans(a plot, r review.Review, i int) {
	for _, e := range r.Eggs {
		t := e.TSP
		if e.Record != i || t == nil || t.Opens.Likely.IsZero() {
			continue
		}
		shade := func(c colour, from, to time.Time) {
			x, w := a.within(r.Laid.DayOf(from)), a.right
			if !to.IsZero() {
				w = a.within(r.Laid.DayOf(to))
			}
			if w > x {
				p.fill(c)
				p.Rect(a.x(x), a.Y, a.x(w)-a.x(x), a.Height, "F")
			}
		}
		if !t.Opens.Low.IsZero() {
			shade(edgeInk, t.Opens.Low, t.Closes.High)
		}
		shade(spanInk, t.Opens.Likely, t.Closes.Likely)
		if x := r.Laid.DayOf(t.Opens.Likely); x < a.right && x >= a.left {
			p.named(a, r.Records[i].Limits, a.x(x)+1, "TSP")
		}
		return
	}
}

// named writes a word above the floor of a chart, clear of the limits.
func (p *page) named(a plot, limits []review.Limit, x float64, text string) {
	f := face{size: 7 * p.k, ink: soft}
	y := a.Y + a.Height - f.height() - 0.8
	for range 3 {
		if !slices.ContainsFunc(limits, func(l review.Limit) bool {
			at := a.y(p.scaled(float64(l.Celsius)))
			return at > y-0.5 && at < y+f.height()+0.5
		}) {
			break
		}
		y -= f.height() + 1
	}
	p.write(f, x, y, text)
}

// silences hatches what no reading speaks for.
func (p *page) silences(a plot, r review.Review, k *review.Record) {
	for _, g := range k.Gaps {
		x, w := a.x(a.within(r.Laid.DayOf(g.From))), a.x(a.within(r.Laid.DayOf(g.To)))
		w = max(w, x+0.3)
		p.ClipRect(x, a.Y, w-x, a.Height, false)
		p.pen(gapInk, 0.15)
		for s := x - a.Height; s < w; s += 1.6 {
			p.Line(s, a.Y+a.Height, s+a.Height, a.Y)
		}
		p.ClipEnd()
	}
}

// readings draws the record: its extremes as a band, its mean as a line, both
// broken where it has a gap.
func (p *page) readings(a plot, r review.Review, k *review.Record) {
	half := k.PointSeconds / 86400 / 2
	var runs [][]dot
	for i, d := range k.Points {
		if i == 0 || parted(k.Gaps, k.Points[i-1].Time, d.Time) {
			runs = append(runs, nil)
		}
		n := len(runs) - 1
		runs[n] = withDot(runs[n], dot{
			a.within(r.Laid.DayOf(d.Time) + half), p.scaled(float64(d.Low)), p.scaled(float64(d.Mean)), p.scaled(float64(d.High)),
		})
	}
	for _, run := range runs {
		p.ribbon(a, run, bandInk)
	}
	for _, run := range runs {
		p.thread(a, run, ink, 0.3)
	}
}

// parted reports whether a gap lies between two columns of a record.
func parted(gaps []review.Gap, from, to time.Time) bool {
	for _, g := range gaps {
		if g.From.Before(to) && g.To.After(from) && g.To.Sub(g.From) > to.Sub(from)/2 {
			return true
		}
	}
	return false
}

// aims draws what the thermostat aimed at, in steps.
func (p *page) aims(a plot, r review.Review, k *review.Record) {
	p.pen(soft, 0.25)
	for i, s := range k.Setpoints {
		to := a.right
		if i+1 < len(k.Setpoints) {
			to = a.within(r.Laid.DayOf(k.Setpoints[i+1].From))
		}
		y := a.y(p.scaled(float64(s.Celsius)))
		if !finite(y) {
			continue
		}
		p.Line(a.x(a.within(r.Laid.DayOf(s.From))), y, a.x(to), y)
		if i+1 < len(k.Setpoints) {
			p.Line(a.x(to), y, a.x(to), a.y(p.scaled(float64(k.Setpoints[i+1].Celsius))))
		}
	}
}

// fences draws the innermost limits that were in force, as the page does.
func (p *page) fences(a plot, r review.Review, k *review.Record) {
	p.pen(limitInk, 0.3)
	p.SetDashPattern([]float64{0.5, 0.8}, 0)
	for _, l := range slices.Concat(k.Inner(true), k.Inner(false)) {
		v := p.scaled(float64(l.Celsius))
		from, to := a.within(r.Laid.DayOf(l.From)), a.within(r.Laid.DayOf(l.To))
		if v >= a.low && v <= a.high && to > from {
			p.Line(a.x(from), a.y(v), a.x(to), a.y(v))
		}
	}
	p.SetDashPattern(nil, 0)
}

// outside marks excursions on the floor of the chart.
func (p *page) outside(a plot, r review.Review, k *review.Record) {
	p.fill(danger)
	for _, e := range k.Excursions {
		x, w := a.x(a.within(r.Laid.DayOf(e.From))), a.x(a.within(r.Laid.DayOf(e.To)))
		p.Rect(x, a.Y+a.Height-1.1, max(w-x, 0.4), 1.1, "F")
	}
}

// moves marks where the eggs came into another box, or it into another
// incubator.
func (p *page) moves(a plot, r review.Review, k *review.Record) {
	f := face{size: 6.5 * p.k, ink: soft}
	free := a.X - 1
	for i, s := range k.Stays {
		x := a.x(a.within(r.Laid.DayOf(s.From)))
		if i > 0 {
			p.pen(soft, 0.15)
			p.SetDashPattern([]float64{1, 1}, 0)
			p.Line(x, a.Y, x, a.Y+a.Height)
			p.SetDashPattern(nil, 0)
		}
		end := a.X + a.Width
		if i+1 < len(k.Stays) {
			end = a.x(a.within(r.Laid.DayOf(k.Stays[i+1].From)))
		}
		name := p.clean(s.BoxName)
		if short := end-x-1 < p.width(f, name); x < free || short && end-x < 15 {
			continue
		}
		name = p.cut(f, name, end-x-1)
		p.write(f, x+0.5, a.Y-f.height(), name)
		free = x + 0.5 + p.width(f, name)
	}
}

// ends marks where eggs of a record hatched or failed.
func (p *page) ends(a plot, r review.Review, i int) {
	f := face{bold: true, size: 7 * p.k, ink: ink}
	row := 0.0
	for _, e := range r.Eggs {
		if e.Record != i || e.Ended.IsZero() {
			continue
		}
		word := "hatched"
		if e.State == incubation.Failed {
			word = "lost"
		}
		x, text := a.x(a.within(r.Laid.DayOf(e.Ended))), p.clean(e.Mark+" "+word)
		p.pen(ink, 0.25)
		p.Line(x, a.Y, x, a.Y+a.Height)
		p.SetFillColor(255, 255, 255)
		p.Rect(x-1.6-p.width(f, text), a.Y+0.6+row*f.height(), p.width(f, text)+1.2, f.height(), "F")
		p.write(f, x-1-p.width(f, text), a.Y+0.5+row*f.height(), text)
		row++
	}
}
