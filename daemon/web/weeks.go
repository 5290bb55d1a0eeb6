package web

import (
	"fmt"
	"math"
	"strconv"

	"clutchd/incubation/season"
)

// A weekChart is a number per week with its band, in units of a drawing 720
// wide, for season.html.
type weekChart struct {
	Title, Text string
	Bars        []weekBar
	Grid        []gridLine
	Months      []label
	Cap         string // y of the most there is room for; "": not drawn
	CapText     string
}

// A weekBar is one week: its band, and the middle as a line across it.
type weekBar struct{ X, W, Y, H, Mid, To, Title string }

type gridLine struct{ Y, Text string }

const (
	weekLeft, weekRight = 60.0, 712.0
	weekTop, weekFloor  = 14.0, 212.0
)

// weekly draws one range of every week. most is drawn as a line; 0 is not.
func (w words) weekly(title, unit string, weeks []season.Week, of func(season.Week) season.Range, most int) *weekChart {
	high := 1.0
	for _, week := range weeks {
		high = max(high, of(week).High)
	}
	if most > 0 {
		high = max(high, float64(most))
	}
	step := niceStep(high / 3)
	top := step * math.Ceil(high/step)
	y := func(n float64) float64 { return weekFloor - (weekFloor-weekTop)*n/top }
	c := &weekChart{Title: title, Text: w.weeklySays(title, unit, weeks, of)}
	for n := 0.0; n <= top+step/2; n += step {
		c.Grid = append(c.Grid, gridLine{num(y(n)), strconv.FormatFloat(n, 'f', -1, 64)})
	}
	width := (weekRight - weekLeft) / float64(max(1, len(weeks)))
	lastMonth, lastX := 0, -1e9
	for i, week := range weeks {
		r, x := of(week), weekLeft+width*float64(i)
		c.Bars = append(c.Bars, weekBar{
			X: num(x + 1), W: num(width - 2), Y: num(y(r.High)), H: num(max(1.5, y(r.Low)-y(r.High))),
			Mid: num(y(r.Middle)), To: num(x + width - 1),
			Title: fmt.Sprintf("week of %s: %s %s", w.day(week.From), rangeWords(r), unit),
		})
		if m := int(w.in(week.From).Month()); m != lastMonth {
			if lastMonth != 0 && x-lastX > 100 && x < weekRight-50 {
				c.Months = append(c.Months, label{"axis", num(x), num(weekFloor + 30), "start", w.in(week.From).Format("Jan")})
				lastX = x
			}
			lastMonth = m
		}
	}
	if most > 0 {
		c.Cap, c.CapText = num(y(float64(most))), fmt.Sprintf("room for %d", most)
	}
	return c
}

// niceStep is 1, 2 or 5 times a power of ten, and at least 1: there are no
// half eggs on an axis.
func niceStep(least float64) float64 {
	if least <= 1 {
		return 1
	}
	ten := math.Pow(10, math.Floor(math.Log10(least)))
	for _, times := range []float64{1, 2, 5} {
		if times*ten >= least {
			return times * ten
		}
	}
	return 10 * ten
}

// weeklySays tells a chart to those who do not see it.
func (w words) weeklySays(title, unit string, weeks []season.Week, of func(season.Week) season.Range) string {
	if len(weeks) == 0 {
		return title
	}
	peak := weeks[0]
	for _, week := range weeks {
		if of(week).Middle > of(peak).Middle {
			peak = week
		}
	}
	return fmt.Sprintf("%s, %d weeks from %s. Most in the week of %s: %s %s. The table below gives each week.",
		title, len(weeks), w.day(weeks[0].From), w.day(peak.From), rangeWords(of(peak)), unit)
}

// rangeWords tells a middle and its band in whole numbers.
func rangeWords(r season.Range) string {
	mid, low, high := math.Round(r.Middle), math.Round(r.Low), math.Round(r.High)
	if low == high {
		return plainly(mid, 0)
	}
	return plainly(mid, 0) + " (" + plainly(low, 0) + "–" + plainly(high, 0) + ")"
}
