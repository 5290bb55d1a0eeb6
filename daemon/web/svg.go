package web

import (
	"fmt"
	"math"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A chart is drawn 720 wide; the stylesheet sets the size of its letters, so
// that they stay readable when a phone shows it at half its width.
const (
	chartLeft, chartTop = 68.0, 14.0
	chartRight          = 712.0
	chartFloor          = 346.0 // below it the times
	chartColumns        = 322   // two units each
)

// A plot is what a chart shows.
type plot struct {
	record   record
	future   []book.Setpoint // from now on
	low      *incubation.Celsius
	high     *incubation.Celsius
	now      time.Time
	tsp      *Gap // the TSP's span
	hatch    *Gap // the hatch window
	tspState string
	laid     time.Time // set: the axis counts days from it
}

// A chart is a plot in units of the drawing, for svg.html.
type chart struct {
	Title, Text           string // what it shows, for those who do not see it
	Shades, Marks         []rect
	Gaps                  []rect
	Lines                 []rect // x, y to x+w, y+h
	Band, Mean, Aim, Plan string // path data
	Labels                []label
}

type rect struct {
	Class      string
	X, Y, W, H string
	Title      string
}

type label struct{ Class, X, Y, Anchor, Text string }

// scale maps time and temperature to the drawing.
type scale struct {
	from, to time.Time
	low      float64 // °C at the floor
	high     float64
}

func (s scale) x(t time.Time) float64 {
	share := float64(t.Sub(s.from)) / float64(s.to.Sub(s.from))
	return chartLeft + (chartRight-chartLeft)*min(1, max(0, share))
}

func (s scale) y(c incubation.Celsius) float64 {
	share := (float64(c) - s.low) / (s.high - s.low)
	return chartFloor - (chartFloor-chartTop)*min(1, max(0, share))
}

func num(f float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", f), ".0") }

func box(class string, x0, y0, x1, y1 float64) rect {
	return rect{Class: class, X: num(x0), Y: num(y0), W: num(max(1.5, x1-x0)), H: num(max(0, y1-y0))}
}

// draw makes the chart; nil when there is nothing to draw.
func (w words) draw(title string, p plot) *chart {
	lowest, highest, any := p.extremes()
	if !any {
		return nil
	}
	s := scale{from: p.record.From, to: p.record.To}
	ticks := w.degreeTicks(lowest, highest, &s)
	c := &chart{Title: title, Text: w.describe(p)}
	w.drawDegrees(c, s, ticks)
	w.drawTimes(c, s, p)
	w.drawSpans(c, s, p)
	drawRecord(c, s, p.record)
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
	// A limit far off would press the record flat: it is left out instead.
	for _, l := range []*incubation.Celsius{p.low, p.high} {
		if l != nil && any && float64(*l) > low-3 && float64(*l) < high+3 {
			fit(*l)
		}
	}
	return low, high, any
}

// degreeTicks picks three to six even steps in the visitor's unit and fits
// the scale to them.
func (w words) degreeTicks(low, high float64, s *scale) []float64 {
	a, b := w.degrees(incubation.Celsius(low)), w.degrees(incubation.Celsius(high))
	pad := max(0.25, (b-a)*0.06)
	a, b = a-pad, b+pad
	step := 50.0
	for _, try := range []float64{0.2, 0.5, 1, 2, 5, 10, 20} {
		if (b-a)/try <= 5.5 {
			step = try
			break
		}
	}
	var ticks []float64
	for t := math.Ceil(a/step) * step; t <= b+1e-9; t += step {
		ticks = append(ticks, t)
	}
	s.low, s.high = float64(w.plain(a)), float64(w.plain(b))
	return ticks
}

// plain is celsius without rounding.
func (w words) plain(d float64) incubation.Celsius {
	if w.fahrenheit {
		d = (d - 32) * 5 / 9
	}
	return incubation.Celsius(d)
}

func (w words) drawDegrees(c *chart, s scale, ticks []float64) {
	for _, t := range ticks {
		y := s.y(w.plain(t))
		c.Lines = append(c.Lines, rect{Class: "grid", X: num(chartLeft), Y: num(y),
			W: num(chartRight), H: num(y)})
		text := minus(num(math.Round(t*10) / 10))
		c.Labels = append(c.Labels, label{"degrees", num(chartLeft - 8), num(y), "end", text})
	}
}

// drawTimes puts four to seven times under the floor: of day for a day,
// dates for weeks, days since the laying for a clutch.
func (w words) drawTimes(c *chart, s scale, p plot) {
	whole := s.to.Sub(s.from)
	last := -1e9
	for _, t := range w.timeTicks(s, p.laid) {
		x := s.x(t)
		c.Lines = append(c.Lines, rect{Class: "grid", X: num(x), Y: num(chartFloor),
			W: num(x), H: num(chartFloor + 6)})
		text := w.in(t).Format("2 Jan")
		switch {
		case !p.laid.IsZero():
			text = "day " + fmt.Sprint(int(math.Round(t.Sub(p.laid).Hours()/24)))
		case whole <= 36*time.Hour:
			text = w.in(t).Format("15:04")
		}
		if x-last > 96 && x < chartRight-24 && x > chartLeft+20 {
			c.Labels = append(c.Labels, label{"axis", num(x), num(chartFloor + 32), "middle", text})
			last = x
		}
	}
}

func (w words) timeTicks(s scale, laid time.Time) []time.Time {
	whole := s.to.Sub(s.from)
	var out []time.Time
	if whole <= 36*time.Hour {
		t := w.in(s.from).Truncate(time.Hour)
		for ; t.Before(s.to); t = t.Add(time.Hour) {
			if t.After(s.from) && w.in(t).Hour()%6 == 0 {
				out = append(out, t)
			}
		}
		return out
	}
	every := 1
	for _, n := range []int{1, 2, 7, 10, 14, 28} {
		every = n
		if whole.Hours()/24/float64(n) <= 6.5 {
			break
		}
	}
	if !laid.IsZero() {
		for t := laid; t.Before(s.to); t = t.AddDate(0, 0, every) {
			out = append(out, t)
		}
		return out
	}
	a := w.in(s.from)
	for t := time.Date(a.Year(), a.Month(), a.Day()+1, 0, 0, 0, 0, a.Location()); t.Before(s.to); {
		out = append(out, t)
		t = t.AddDate(0, 0, every)
	}
	return out
}

func (w words) drawSpans(c *chart, s scale, p plot) {
	shade := func(g *Gap, class, text string, y float64) {
		if g == nil || !g.To.After(s.from) || !g.From.Before(s.to) {
			return
		}
		r := box(class, s.x(g.From), chartTop, s.x(g.To), chartFloor)
		r.Title = text + " " + w.days(g.From, g.To)
		c.Shades = append(c.Shades, r)
		c.Labels = append(c.Labels, label{"name", num(s.x(g.From) + 6), num(y), "start", text})
	}
	shade(p.tsp, "tsp", "TSP", chartFloor-10)
	shade(p.hatch, "hatch", "hatch", chartTop+24)
	if p.now.After(s.from) && p.now.Before(s.to) {
		x := s.x(p.now)
		c.Lines = append(c.Lines, rect{Class: "now", X: num(x), Y: num(chartTop), W: num(x), H: num(chartFloor)})
	}
	for _, g := range p.record.Gaps {
		r := box("gap", s.x(g.From), chartTop, s.x(g.To), chartFloor)
		r.Title = "no readings " + w.moment(g.From) + " to " + w.moment(g.To)
		c.Gaps = append(c.Gaps, r)
	}
	for _, e := range p.record.Excursions {
		from := s.x(e.From)
		r := box("outside", from, 0, max(s.x(e.To), from+6), chartTop-3)
		r.Title = "outside a limit " + w.moment(e.From) + " to " + w.moment(e.To) +
			", worst " + w.temp(e.Worst) + " " + w.Unit()
		c.Marks = append(c.Marks, r)
	}
}

func (w words) drawLimits(c *chart, s scale, p plot) {
	for _, l := range []*incubation.Celsius{p.low, p.high} {
		if l == nil || float64(*l) < s.low || float64(*l) > s.high {
			continue
		}
		y := num(s.y(*l))
		c.Lines = append(c.Lines, rect{Class: "limit", X: num(chartLeft), Y: y, W: num(chartRight), H: y})
	}
}

// drawRecord draws the band from lowest to highest and the mean within it,
// both broken where a gap lies between two columns.
func drawRecord(c *chart, s scale, r record) {
	var band, mean strings.Builder
	var unbroken []Column
	flush := func() {
		if len(unbroken) > 0 {
			run(&band, &mean, s, r, unbroken)
		}
		unbroken = unbroken[:0]
	}
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
				flush()
			}
		}
		unbroken = append(unbroken, k)
	}
	flush()
	c.Band, c.Mean = band.String(), mean.String()
}

// broken reports whether a gap is long enough to be seen as a break.
func broken(g Gap, width time.Duration) bool { return g.To.Sub(g.From) >= width }

// run draws one unbroken stretch; a single column is as wide as it stands for.
func run(band, mean *strings.Builder, s scale, r record, columns []Column) {
	half := r.Width / 2
	x := func(k Column) float64 { return s.x(k.Time.Add(half)) }
	first, last := columns[0], columns[len(columns)-1]
	fmt.Fprintf(band, "M%s %s", num(s.x(first.Time)), num(s.y(first.High)))
	fmt.Fprintf(mean, "M%s %s", num(s.x(first.Time)), num(s.y(first.Mean)))
	for _, k := range columns {
		fmt.Fprintf(band, "L%s %s", num(x(k)), num(s.y(k.High)))
		fmt.Fprintf(mean, "L%s %s", num(x(k)), num(s.y(k.Mean)))
	}
	end := num(s.x(last.Time.Add(r.Width)))
	fmt.Fprintf(band, "L%s %sL%s %s", end, num(s.y(last.High)), end, num(s.y(last.Low)))
	fmt.Fprintf(mean, "L%s %s", end, num(s.y(last.Mean)))
	for i := len(columns) - 1; i >= 0; i-- {
		fmt.Fprintf(band, "L%s %s", num(x(columns[i])), num(s.y(columns[i].Low)))
	}
	fmt.Fprintf(band, "L%s %sZ", num(s.x(first.Time)), num(s.y(first.Low)))
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
		text = strings.TrimSuffix(text, " in all") + strings.Repeat(" in all", min(1, len(p.record.Gaps)-1))
	}
	if n := len(p.record.Excursions); n == 1 {
		text += "; outside a limit once"
	} else if n > 1 {
		text += fmt.Sprintf("; outside a limit %d times", n)
	}
	return text + "."
}
