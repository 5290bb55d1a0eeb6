package web

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// gapIntervals is how many of a probe's own intervals without a reading make
// a gap: as the rule "stale" has it.
const gapIntervals = 5

// A Column is what was read in one even part of a chart's time, extremes
// kept. N is 0 where nothing was.
type Column struct {
	Time            time.Time // its beginning
	Low, Mean, High incubation.Celsius
	N               int
}

// A Gap is a stretch without readings.
type Gap struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// A fold thins readings into columns as they stream by.
type fold struct {
	from, to time.Time
	width    time.Duration
	columns  []Column
}

func newFold(from, to time.Time, points int) *fold {
	points = max(1, points)
	width := max(time.Second, (to.Sub(from)+time.Duration(points)-1)/time.Duration(points))
	n := int((to.Sub(from) + width - 1) / width)
	f := &fold{from: from, to: to, width: width, columns: make([]Column, max(1, n))}
	for i := range f.columns {
		f.columns[i].Time = from.Add(time.Duration(i) * width)
	}
	return f
}

// add takes a reading; outside the chart it is not counted. Mean holds the
// sum until done.
func (f *fold) add(t time.Time, c incubation.Celsius) {
	if t.Before(f.from) || !t.Before(f.to) {
		return
	}
	k := &f.columns[t.Sub(f.from)/f.width]
	if k.N == 0 || c < k.Low {
		k.Low = c
	}
	if k.N == 0 || c > k.High {
		k.High = c
	}
	k.Mean += c
	k.N++
}

// done gives the columns with their means.
func (f *fold) done() []Column {
	for i := range f.columns {
		if k := &f.columns[i]; k.N > 1 {
			k.Mean = min(k.High, max(k.Low, k.Mean/incubation.Celsius(k.N)))
		}
	}
	return f.columns
}

// gaps watches one probe's times for stretches without any. A long step that
// has a neighbour of about its length is a slower rhythm, as of a logger's
// file or an older setting, and no gap, up to rhythmMost.
type gaps struct {
	last   time.Time
	most   time.Duration
	before time.Duration // the step before the one in doubt
	doubt  Gap           // a long step whose next one is not known yet
	found  []Gap
}

// Steps up to shortestGap are never a gap, steady ones beyond rhythmMost always.
const (
	shortestGap = 5 * time.Minute
	rhythmMost  = 30 * time.Minute
)

func newGaps(from time.Time, interval time.Duration) *gaps {
	return &gaps{last: from, most: max(shortestGap, gapIntervals*interval)}
}

func (g *gaps) seen(t time.Time) {
	step := t.Sub(g.last)
	if step <= 0 {
		return
	}
	g.settle(step)
	if step > g.most && (step > rhythmMost || !alike(step, g.before)) {
		g.doubt = Gap{g.last, t}
	}
	g.before, g.last = step, t
}

// settle decides about the step in doubt, now that its next one is known.
func (g *gaps) settle(next time.Duration) {
	if long := g.doubt.To.Sub(g.doubt.From); long > rhythmMost || long > 0 && !alike(long, next) {
		g.found = append(g.found, g.doubt)
	}
	g.doubt = Gap{}
}

// end closes the watch at t and gives the gaps.
func (g *gaps) end(t time.Time) []Gap {
	g.seen(t)
	g.settle(0)
	return g.found
}

func alike(a, b time.Duration) bool { return a <= 2*b && b <= 2*a }

// both gives the stretches that lie in a gap of each: another probe's
// readings close a gap. Both lists are in order.
func both(a, b []Gap) []Gap {
	var out []Gap
	for i, j := 0, 0; i < len(a) && j < len(b); {
		from, to := later(a[i].From, b[j].From), earlier(a[i].To, b[j].To)
		if from.Before(to) {
			out = append(out, Gap{from, to})
		}
		if a[i].To.Before(b[j].To) {
			i++
		} else {
			j++
		}
	}
	return out
}

// joined puts gaps that touch together.
func joined(list []Gap) []Gap {
	slices.SortFunc(list, func(a, b Gap) int { return a.From.Compare(b.From) })
	var out []Gap
	for _, g := range list {
		if n := len(out); n > 0 && !g.From.After(out[n-1].To) {
			out[n-1].To = later(out[n-1].To, g.To)
			continue
		}
		out = append(out, g)
	}
	return out
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// An excursion is a stretch outside a limit, to the width of a column.
type excursion struct {
	From  time.Time          `json:"from"`
	To    time.Time          `json:"to"`
	Worst incubation.Celsius `json:"worst_celsius"`
}

// A fence is what a value should stay within, and since when; a nil limit is
// none.
type fence struct {
	low, high *incubation.Celsius
	since     time.Time
}

// excursions finds the stretches in which a value lay outside. A gap ends a
// stretch; a column that is only narrower than the steps between readings
// does not.
func excursions(r record, f fence) []excursion {
	var out []excursion
	open := false
	width, low, high := r.Width, f.low, f.high
	for _, k := range r.Columns {
		if k.N == 0 {
			open = open && !covered(r.Gaps, k.Time.Add(width/2))
			continue
		}
		worst, outside := beyond(k, low, high)
		if !outside || k.Time.Before(f.since) {
			open = false
			continue
		}
		if !open {
			out = append(out, excursion{From: k.Time, Worst: worst})
		}
		e := &out[len(out)-1]
		e.To = k.Time.Add(width)
		if high != nil && worst > max(*high, e.Worst) || low != nil && worst < min(*low, e.Worst) {
			e.Worst = worst
		}
		open = true
	}
	return out
}

func covered(gaps []Gap, t time.Time) bool {
	return slices.ContainsFunc(gaps, func(g Gap) bool {
		return !t.Before(g.From) && t.Before(g.To)
	})
}

func beyond(k Column, low, high *incubation.Celsius) (incubation.Celsius, bool) {
	switch {
	case high != nil && k.High > *high:
		return k.High, true
	case low != nil && k.Low < *low:
		return k.Low, true
	}
	return 0, false
}
