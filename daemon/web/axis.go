package web

import (
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
)

// scale maps time and temperature to the drawing.
type scale struct {
	from, to time.Time
	low      float64 // °C at the floor
	high     float64
	floor    float64 // where low is drawn
}

func (s scale) x(t time.Time) float64 {
	share := float64(t.Sub(s.from)) / float64(s.to.Sub(s.from))
	return chartLeft + (chartRight-chartLeft)*min(1, max(0, share))
}

func (s scale) y(c incubation.Celsius) float64 {
	share := (float64(c) - s.low) / (s.high - s.low)
	return s.floor - (s.floor-chartTop)*min(1, max(0, share))
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
		c.Lines = append(c.Lines, rect{
			Class: "grid", X: num(chartLeft), Y: num(y),
			W: num(chartRight), H: num(y),
		})
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
		c.Lines = append(c.Lines, rect{
			Class: "grid", X: num(x), Y: num(s.floor),
			W: num(x), H: num(s.floor + 6),
		})
		text := w.short(t)
		switch {
		case !p.laid.IsZero():
			text = "day " + fmt.Sprint(int(math.Round(t.Sub(p.laid).Hours()/24)))
		case whole <= 36*time.Hour:
			text = w.in(t).Format("15:04")
		}
		if x-last > 96 && x < chartRight-42 && x > chartLeft+20 {
			c.Labels = append(c.Labels, label{"axis", num(x), num(s.floor + 32), "middle", text})
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
