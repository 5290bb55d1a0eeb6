package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// shownWeights is how many weighings the drawing holds: a weekly one of two
// years.
const shownWeights = 104

// weights are an animal's, drawn and as numbers.
type weights struct {
	Chart       *chart
	Now, When   string
	Trend       string
	Best, Worst string // heaviest and lightest of those drawn
	Lines       []linked
	More        int // weighings not listed
}

// weightChart is nil where nothing was weighed; one weighing is no line.
func (v *visit) weightChart(all []incubation.Weight) *weights {
	n := len(all)
	if n == 0 {
		return nil
	}
	w := &weights{Now: gramsWord(all[n-1].Grams), When: v.say.day(all[n-1].At) + ", " + v.say.age(all[n-1].At), Trend: trendWord(all)}
	drawn := all[max(0, n-shownWeights):]
	low, high := drawn[0], drawn[0]
	for _, k := range drawn {
		if k.Grams < low.Grams {
			low = k
		}
		if k.Grams > high.Grams {
			high = k
		}
	}
	if len(drawn) > 1 {
		w.Best = gramsWord(high.Grams) + " on " + v.say.day(high.At)
		w.Worst = gramsWord(low.Grams) + " on " + v.say.day(low.At)
		w.Chart = v.drawWeights(drawn, low.Grams, high.Grams)
	}
	for _, k := range slices.Backward(all[max(0, n-6):]) {
		w.Lines = append(w.Lines, linked{Name: v.say.day(k.At), Text: gramsWord(k.Grams)})
	}
	w.More = max(0, n-6)
	return w
}

// drawWeights uses the charts' scale with grams in place of degrees.
func (v *visit) drawWeights(all []incubation.Weight, low, high float64) *chart {
	const floor = 196.0
	first, last := all[0].At, all[len(all)-1].At
	if last.Sub(first) < 24*time.Hour {
		return nil
	}
	s := scale{from: first, to: last}
	step := gramStep(high - low)
	s.low, s.high = math.Floor(low/step)*step, math.Ceil(high/step)*step
	if s.high == s.low {
		s.high += step
	}
	y := func(g float64) float64 { return floor - (floor-chartTop)*(g-s.low)/(s.high-s.low) }
	c := &chart{Title: "Weight"}
	for g := s.low; g <= s.high+step/2; g += step {
		c.Lines = append(c.Lines, rect{Class: "grid", X: num(chartLeft), Y: num(y(g)), W: num(chartRight), H: num(y(g))})
		c.Labels = append(c.Labels, label{"degrees", num(chartLeft - 8), num(y(g)), "end", strconv.FormatFloat(g, 'f', -1, 64)})
	}
	var path strings.Builder
	for i, k := range all {
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		fmt.Fprintf(&path, "%s%s %s", letter, num(s.x(k.At)), num(y(k.Grams)))
		r := rect{Class: "dot", X: num(s.x(k.At)), Y: num(y(k.Grams)), Title: gramsWord(k.Grams) + ", " + v.say.day(k.At)}
		c.Marks = append(c.Marks, r)
	}
	c.Mean = path.String()
	for i, t := range []time.Time{first, last} {
		anchor := [2]string{"start", "end"}[i]
		c.Labels = append(c.Labels, label{"axis", num(s.x(t)), num(floor + 34), anchor, v.say.day(t)})
	}
	c.Text = fmt.Sprintf("%s to %s in %d weighings.", gramsWord(low), gramsWord(high), len(all))
	return c
}

// gramStep picks two to five even steps.
func gramStep(spread float64) float64 {
	for _, try := range []float64{0.5, 1, 2, 5, 10, 20, 50} {
		if spread/try <= 4 {
			return try
		}
	}
	return 100
}
