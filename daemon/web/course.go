package web

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"clutchd/incubation/review"
)

// A course is an estimate over time: a drawing 360 wide.
type course struct {
	Title, Text string
	Band, Mean  string // path data
	Lines       []rect // x, y to w, h
	Dots        []dot
	Labels      []label

	scaleLow, scaleHigh float64 // of the days that a hatch is marked on
}

const (
	courseLeft, courseRight = 50.0, 350.0
	courseTop, courseFloor  = 10.0, 106.0
)

// A way is where an estimate went: day asked, and the value with its band.
type way struct {
	day, low, mid, high float64
	title               string
}

// courses draws the estimates of eggs; those of which the same was said share
// a drawing, of the one that lived longest.
func (w words) courses(r review.Review) []courseBlock {
	var out []courseBlock
	for _, g := range courseGroups(r) {
		longest := r.Eggs[longestOf(r, g)]
		b := courseBlock{Sex: w.sexCourse(r, longest), Hatch: w.hatchCourse(r, longest)}
		for _, i := range g {
			b.Hatch.mark(r, r.Eggs[i])
		}
		whose := eggsNamed(r, g)
		b.Sex.Title, b.Hatch.Title = whose+": chance of a male", whose+": hatch window"
		out = append(out, b)
	}
	return out
}

// courseGroups gives the eggs of which the same was said, by their indexes.
func courseGroups(r review.Review) [][]int {
	var groups [][]int
next:
	for i, e := range r.Eggs {
		if len(e.Course) < 2 {
			continue
		}
		for k, g := range groups {
			if sameCourse(r.Eggs[g[0]].Course, e.Course) {
				groups[k] = append(g, i)
				continue next
			}
		}
		groups = append(groups, []int{i})
	}
	return groups
}

// longestOf is the egg of a group that was asked about most often.
func longestOf(r review.Review, group []int) int {
	return slices.MaxFunc(group, func(a, b int) int { return len(r.Eggs[a].Course) - len(r.Eggs[b].Course) })
}

// eggsNamed names eggs by their indexes.
func eggsNamed(r review.Review, group []int) string {
	var marks []string
	for _, i := range group {
		marks = append(marks, r.Eggs[i].Mark)
	}
	if len(marks) == 1 {
		return "Egg " + marks[0]
	}
	return "Eggs " + list(marks)
}

// sameCourse reports whether two eggs were told the same on the way. Their
// ends, at a day of each one's own, may differ.
func sameCourse(a, b []review.Forecast) bool {
	for i := range min(len(a), len(b)) - 1 {
		if !a[i].Time.Equal(b[i].Time) || math.Abs(a[i].Male-b[i].Male) > 0.005 ||
			a[i].Hatch.Likely.Sub(b[i].Hatch.Likely).Abs() > 6*time.Hour {
			return false
		}
	}
	return true
}

func (w words) sexCourse(r review.Review, e review.Egg) *course {
	var all []way
	for _, f := range e.Course {
		all = append(all, way{
			f.Day, 100 * f.Low, 100 * f.Male, 100 * f.High,
			fmt.Sprintf("%s: male %s (%s)", dayWord(r.Laid.Middle(), f.Time), share(f.Male), between(f.Low, f.High)),
		})
	}
	c := drawWay(all, axis{0, 100, 25, func(v float64) string { return num(v) + "%" }})
	first, last := e.Course[0], e.Course[len(e.Course)-1]
	c.Text = fmt.Sprintf("From %s on %s to %s on %s.", share(first.Male), dayWord(r.Laid.Middle(), first.Time),
		share(last.Male), dayWord(r.Laid.Middle(), last.Time))
	return c
}

// hatchCourse draws the hatch window in days after the laying.
func (w words) hatchCourse(r review.Review, e review.Egg) *course {
	var all []way
	low, high := math.Inf(1), math.Inf(-1)
	for _, f := range e.Course {
		h := f.Hatch
		if h.Earliest.IsZero() || h.Latest.IsZero() {
			continue
		}
		k := way{
			f.Day, r.Laid.DayOf(h.Earliest), r.Laid.DayOf(h.Likely), r.Laid.DayOf(h.Latest),
			fmt.Sprintf("%s: hatch %s, likely %s", dayWord(r.Laid.Middle(), f.Time), w.days(h.Earliest, h.Latest), w.day(h.Likely)),
		}
		low, high = min(low, k.low), max(high, k.high)
		all = append(all, k)
	}
	if e.Against != nil {
		low, high = min(low, e.Days), max(high, e.Days)
	}
	step := 5.0
	if high-low > 30 {
		step = 10
	}
	a := axis{math.Floor(low/step) * step, math.Ceil(high/step) * step, step, func(v float64) string { return "day " + num(v) }}
	c := drawWay(all, a)
	if n := len(all); n > 0 {
		c.Text = fmt.Sprintf("Likeliest day %.0f as of day %.0f, day %.0f as of day %.0f.", math.Floor(all[0].mid), math.Floor(all[0].day),
			math.Floor(all[n-1].mid), math.Floor(all[n-1].day))
	}
	c.scaleLow, c.scaleHigh = a.low, a.high
	return c
}

// mark draws the day on which the egg hatched.
func (c *course) mark(r review.Review, e review.Egg) {
	if e.Against == nil || c.scaleHigh <= c.scaleLow {
		return
	}
	y := courseFloor - (courseFloor-courseTop)*(e.Days-c.scaleLow)/(c.scaleHigh-c.scaleLow)
	y = min(courseFloor, max(courseTop, y))
	c.Lines = append(c.Lines, rect{Class: "now", X: num(courseLeft), Y: num(y), W: num(courseRight), H: num(y)})
	c.Labels = append(c.Labels, label{"name", num(courseLeft + 6), num(y - 5), "start", e.Mark + " hatched " + dayWord(r.Laid.Middle(), e.Ended)})
	c.Text += fmt.Sprintf(" Egg %s hatched on %s.", e.Mark, dayWord(r.Laid.Middle(), e.Ended))
}

// An axis is the values that a course is drawn over.
type axis struct {
	low, high, step float64
	text            func(float64) string
}

func drawWay(all []way, a axis) *course {
	c := &course{}
	if len(all) == 0 {
		c.Text = "It has no window as things stand."
		return c
	}
	last := max(all[len(all)-1].day, 1)
	x := func(d float64) float64 { return courseLeft + (courseRight-courseLeft)*min(1, max(0, d/last)) }
	y := func(v float64) float64 {
		return courseFloor - (courseFloor-courseTop)*min(1, max(0, (v-a.low)/(a.high-a.low)))
	}
	for v := a.low; v <= a.high+1e-9; v += a.step {
		c.Lines = append(c.Lines, rect{Class: "grid", X: num(courseLeft), Y: num(y(v)), W: num(courseRight), H: num(y(v))})
		c.Labels = append(c.Labels, label{"degrees", num(courseLeft - 6), num(y(v)), "end", a.text(v)})
	}
	every := 7.0
	for last/every > 6 {
		every += 7
	}
	for d := 0.0; d <= last+0.5; d += every {
		c.Labels = append(c.Labels, label{"axis", num(x(d)), num(courseFloor + 18), "middle", "day " + num(d)})
	}
	var band, mean strings.Builder
	for i, k := range all {
		verb := "L"
		if i == 0 {
			verb = "M"
		}
		fmt.Fprintf(&band, "%s%s %s", verb, num(x(k.day)), num(y(k.high)))
		fmt.Fprintf(&mean, "%s%s %s", verb, num(x(k.day)), num(y(k.mid)))
		c.Dots = append(c.Dots, dot{"at", num(x(k.day)), num(y(k.mid)), k.title})
	}
	for _, k := range slices.Backward(all) {
		fmt.Fprintf(&band, "L%s %s", num(x(k.day)), num(y(k.low)))
	}
	band.WriteByte('Z')
	c.Band, c.Mean = band.String(), mean.String()
	return c
}
