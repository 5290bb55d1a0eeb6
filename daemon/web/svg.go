package web

import (
	"fmt"
	"math"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// A chart is drawn 720 wide; the stylesheet sets the size of its letters, so
// that they stay readable when a phone shows it at half its width.
const (
	chartLeft, chartTop = 68.0, 14.0
	chartRight          = 712.0
	chartFloor          = 346.0 // below it the times
	flatFloor           = 146.0 // the same of one for paper
	chartFoot           = 54.0  // the height of what stands below
	flatFoot            = 42.0
	chartColumns        = 322 // two units each
)

// A plot is what a chart shows.
type plot struct {
	record record
	future []book.Setpoint // from now on
	low    *incubation.Celsius
	high   *incubation.Celsius
	// limits are the innermost in force then, in place of low and high.
	limits  []review.Limit
	now     time.Time
	tsp     *review.Span    // the TSP's span
	tspBand *review.TSPSpan // the same with its band; nil: not known
	hatch   *review.Span    // the hatch window
	laid    time.Time       // set: the axis counts days from it
	alive   bool            // what lies there can still hatch
	flat    bool            // for paper: half as high
}

// A chart is a plot in units of the drawing, for svg.html.
type chart struct {
	Title, Text           string // what it shows, for those who do not see it
	Shades, Marks         []rect
	Gaps                  []rect
	Lines                 []rect // x, y to x+w, y+h
	Band, Mean, Aim, Plan string // path data
	Labels                []label
	High, Low             string // path data of the limits in force then
	Height                string // of the drawing
	Data                  string // where its record is to be had; "": nowhere
	Laid, Zone            string // beside Data: day 0, and the room's zone
	Numbers               *numbers
}

type rect struct {
	Class      string
	X, Y, W, H string
	Title      string
}

type label struct{ Class, X, Y, Anchor, Text string }

func num(f float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", f), ".0") }

// A corner is a point of the drawing.
type corner struct{ x, y float64 }

// box is a rectangle between two corners, never too thin to see.
func box(class string, a, b corner) rect {
	return rect{
		Class: class, X: num(a.x), Y: num(a.y), W: num(max(1.5, b.x-a.x)),
		H: num(max(0, b.y-a.y)),
	}
}

// draw makes the chart; nil when there is nothing to draw.
func (w words) draw(title string, p plot) *chart {
	lowest, highest, any := p.extremes()
	if !any {
		return nil
	}
	s, foot := scale{from: p.record.From, to: p.record.To, floor: chartFloor}, chartFoot
	if p.flat {
		s.floor, foot = flatFloor, flatFoot
	}
	ticks := w.degreeTicks(lowest, highest, &s)
	c := &chart{Title: title, Text: w.describe(p), Height: num(s.floor + foot)}
	w.drawDegrees(c, s, ticks)
	w.drawTimes(c, s, p)
	w.drawSpans(c, s, p)
	drawRecord(c, s, p.record)
	drawMoves(c, s, p.record.Moves)
	c.Aim = steps(s, p.record.Setpoints, earlier(p.now, s.to))
	if len(p.future) > 0 && p.now.Before(s.to) {
		c.Plan = steps(s, p.future, s.to)
	}
	w.drawLimits(c, s, p)
	return c
}

// extremes are those of everything that must fit.
func (p plot) extremes() (low, high float64, any bool) {
	low, high = math.Inf(1), math.Inf(-1)
	fit := func(c incubation.Celsius) { low, high = min(low, float64(c)), max(high, float64(c)) }
	for _, k := range p.record.Columns {
		if k.N > 0 {
			fit(k.Low)
			fit(k.High)
			any = true
		}
	}
	for _, list := range [][]book.Setpoint{p.record.Setpoints, p.future} {
		for _, st := range list {
			fit(st.Celsius)
			any = true
		}
	}
	for _, l := range p.limits {
		if any && float64(l.Celsius) > low-1.5 && float64(l.Celsius) < high+1.5 {
			fit(l.Celsius)
		}
	}
	// A limit far off would press the record flat: it is left out instead.
	for _, l := range []*incubation.Celsius{p.low, p.high} {
		if l != nil && any && float64(*l) > low-3 && float64(*l) < high+3 {
			fit(*l)
		}
	}
	return low, high, any
}

func (w words) drawSpans(c *chart, s scale, p plot) {
	shade := func(g *review.Span, class, text string, y float64) {
		if g == nil || !g.To.After(s.from) || !g.From.Before(s.to) {
			return
		}
		r := box(class, corner{s.x(g.From), chartTop}, corner{s.x(g.To), s.floor})
		r.Title = text + " " + w.days(g.From, g.To)
		c.Shades = append(c.Shades, r)
		l := label{"name", num(s.x(g.From) + 6), num(y), "start", text}
		if s.x(g.From) > chartRight-80 {
			l.X, l.Anchor = num(chartRight-4), "end"
		}
		c.Labels = append(c.Labels, l)
	}
	if b := p.tspBand; b != nil && !b.Opens.Low.IsZero() && !b.Closes.High.IsZero() {
		if from, to := later(b.Opens.Low, s.from), earlier(b.Closes.High, s.to); from.Before(to) {
			c.Shades = append(c.Shades, box("tspband", corner{s.x(from), chartTop}, corner{s.x(to), s.floor}))
		}
	}
	shade(p.tsp, "tsp", "TSP", s.floor-10)
	shade(p.hatch, "hatch", "hatch", s.floor-10)
	if p.now.After(s.from) && p.now.Before(s.to) {
		x := s.x(p.now)
		c.Lines = append(c.Lines, rect{
			Class: "now", X: num(x), Y: num(chartTop), W: num(x),
			H: num(s.floor),
		})
	}
	for _, g := range p.record.Gaps {
		r := box("gap", corner{s.x(g.From), chartTop}, corner{s.x(g.To), s.floor})
		r.Title = "no readings " + w.moment(g.From) + " to " + w.moment(g.To)
		c.Gaps = append(c.Gaps, r)
	}
	for _, e := range p.record.Excursions {
		from := s.x(e.From)
		r := box("outside", corner{from, 0}, corner{max(s.x(e.To), from+6), chartTop - 3})
		r.Title = "outside a limit " + w.moment(e.From) + " to " + w.moment(e.To) +
			", worst " + w.temp(e.Worst) + " " + w.Unit()
		c.Marks = append(c.Marks, r)
	}
}

func (w words) drawLimits(c *chart, s scale, p plot) {
	c.High, c.Low = s.fence(p.limits, true), s.fence(p.limits, false)
	for _, l := range []*incubation.Celsius{p.low, p.high} {
		if l == nil || float64(*l) < s.low || float64(*l) > s.high {
			continue
		}
		y := num(s.y(*l))
		c.Lines = append(c.Lines, rect{
			Class: "limit", X: num(s.x(p.record.Since)), Y: y,
			W: num(chartRight), H: y,
		})
	}
}

// fence draws the limits of one side as steps; what would lie outside the
// drawing is left out.
func (s scale) fence(limits []review.Limit, high bool) string {
	var b strings.Builder
	for _, l := range limits {
		if l.High == high && float64(l.Celsius) >= s.low && float64(l.Celsius) <= s.high && l.From.Before(s.to) {
			fmt.Fprintf(&b, "M%s %sH%s", num(s.x(l.From)), num(s.y(l.Celsius)), num(s.x(l.To)))
		}
	}
	return b.String()
}

// drawMoves marks where the eggs came into another box.
func drawMoves(c *chart, s scale, moves []move) {
	for _, m := range moves {
		if m.At.After(s.from) && m.At.Before(s.to) {
			x := num(s.x(m.At))
			c.Lines = append(c.Lines, rect{Class: "moved", X: x, Y: num(chartTop), W: x, H: num(s.floor)})
		}
	}
}

// drawRecord draws the band from lowest to highest and the mean within it,
// both broken where a gap lies between two columns.
func drawRecord(c *chart, s scale, r record) {
	p := pen{scale: s, width: r.Width}
	var unbroken []review.Point
	gaps := r.Gaps
	for _, k := range r.Columns {
		if k.N == 0 {
			continue
		}
		if n := len(unbroken); n > 0 {
			for len(gaps) > 0 && gaps[0].From.Before(unbroken[n-1].Time) {
				gaps = gaps[1:]
			}
			if len(gaps) > 0 && !gaps[0].To.After(k.Time.Add(r.Width)) && broken(gaps[0], r.Width) {
				p.draw(unbroken)
				unbroken = unbroken[:0]
			}
		}
		unbroken = append(unbroken, k)
	}
	p.draw(unbroken)
	c.Band, c.Mean = p.band.String(), p.mean.String()
}

// broken reports whether a gap is long enough to be seen as a break.
func broken(g review.Span, width time.Duration) bool { return g.To.Sub(g.From) >= width }

// A pen draws unbroken stretches of a record.
type pen struct {
	scale
	width      time.Duration
	band, mean strings.Builder
}

// draw draws one unbroken stretch; a single column is as wide as it stands for.
func (p *pen) draw(columns []review.Point) {
	if len(columns) == 0 {
		return
	}
	middle := func(k review.Point) float64 { return p.x(k.Time.Add(p.width / 2)) }
	first, last := columns[0], columns[len(columns)-1]
	from, to := p.x(first.Time), p.x(last.Time.Add(p.width))
	put := func(b *strings.Builder, verb string, x float64, c incubation.Celsius) {
		fmt.Fprintf(b, "%s%s %s", verb, num(x), num(p.y(c)))
	}
	put(&p.band, "M", from, first.High)
	put(&p.mean, "M", from, first.Mean)
	for _, k := range columns {
		put(&p.band, "L", middle(k), k.High)
		put(&p.mean, "L", middle(k), k.Mean)
	}
	put(&p.band, "L", to, last.High)
	put(&p.band, "L", to, last.Low)
	put(&p.mean, "L", to, last.Mean)
	for i := len(columns) - 1; i >= 0; i-- {
		put(&p.band, "L", middle(columns[i]), columns[i].Low)
	}
	put(&p.band, "L", from, first.Low)
	p.band.WriteByte('Z')
}

// steps draws what the thermostat aims at, from step to step until the end.
func steps(s scale, list []book.Setpoint, end time.Time) string {
	var b strings.Builder
	for i, st := range list {
		until := end
		if i+1 < len(list) {
			until = list[i+1].From
		}
		if !until.After(s.from) {
			continue
		}
		verb := "L"
		if b.Len() == 0 {
			verb = "M"
		}
		y := num(s.y(st.Celsius))
		fmt.Fprintf(&b, "%s%s %sH%s", verb, num(s.x(st.From)), y, num(s.x(until)))
	}
	return b.String()
}

// describe says in words what the drawing shows.
func (w words) describe(p plot) string {
	lowest, highest, n := incubation.Celsius(0), incubation.Celsius(0), 0
	for _, k := range p.record.Columns {
		if k.N == 0 {
			continue
		}
		if n == 0 || k.Low < lowest {
			lowest = k.Low
		}
		if n == 0 || k.High > highest {
			highest = k.High
		}
		n += k.N
	}
	if n == 0 {
		return "No reading in this time."
	}
	text := fmt.Sprintf("From %s to %s %s", w.temp(lowest), w.temp(highest), w.Unit())
	if len(p.record.Gaps) > 0 {
		var whole time.Duration
		for _, g := range p.record.Gaps {
			whole += g.To.Sub(g.From)
		}
		text += fmt.Sprintf("; %d gaps, %s in all", len(p.record.Gaps), span(whole))
		text = strings.Replace(text, "; 1 gaps, ", "; one gap, ", 1)
		text = strings.TrimSuffix(text, " in all") + strings.Repeat(" in all",
			min(1, len(p.record.Gaps)-1))
	}
	switch n := len(p.record.Excursions); n {
	case 0:
	case 1:
		text += "; outside a limit once"
	case 2:
		text += "; outside a limit twice"
	default:
		text += fmt.Sprintf("; outside a limit %d times", n)
	}
	return text + "."
}
