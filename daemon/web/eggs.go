package web

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// An eggLine is a clutch's eggs that lie together.
type eggLine struct {
	Clutch, Female, Marks, Where, Day, Hatch, Likely, Words string
	End                                                     string // what became of it
	State                                                   state
	sort                                                    time.Time
}

// lyingIn leaves out the eggs of the boxes that stand in the place.
func (v *visit) lyingIn(p monitor.PlaceNow) []string {
	return slices.DeleteFunc(slices.Clone(p.Eggs), func(id string) bool {
		e := v.snap.Book.Eggs[id]
		return e == nil || incubation.At(e.Stays, v.snap.Time) != p.ID
	})
}

// marksIn groups egg marks by clutch: "7 A B, 9 A".
func (v *visit) marksIn(eggs []string) string {
	var order []string
	marks := map[string][]string{}
	for _, id := range eggs {
		e := v.snap.Book.Eggs[id]
		if e == nil {
			continue
		}
		if marks[e.Clutch] == nil {
			order = append(order, e.Clutch)
		}
		marks[e.Clutch] = append(marks[e.Clutch], e.Mark)
	}
	var out []string
	for _, c := range order {
		out = append(out, c+" "+strings.Join(marks[c], " "))
	}
	return strings.Join(out, ", ")
}

// eggLines lists live eggs, the next to hatch first; siblings in one box make
// one line.
func (v *visit) eggLines() []eggLine {
	var lines []eggLine
	for _, c := range v.snap.Clutches {
		boxes := map[string]int{}
		for _, e := range c.Eggs {
			if e.State != incubation.Incubating && e.State != incubation.Pipped {
				continue
			}
			if i, ok := boxes[e.Box]; ok && e.Box != "" {
				lines[i].Marks += " " + e.Mark
				continue
			}
			boxes[e.Box] = len(lines)
			lines = append(lines, v.eggLine(c, e))
		}
	}
	slices.SortStableFunc(lines, func(a, b eggLine) int {
		return cmp.Compare(a.sort.Unix(),
			b.sort.Unix())
	})
	return lines
}

func (v *visit) eggLine(c monitor.ClutchNow, e monitor.EggNow) eggLine {
	l := eggLine{
		Clutch: c.ID, Female: c.Name, Marks: e.Mark, Where: e.PlacePath,
		Day: dayOf(c.Laid, v.snap.Time), State: quiet, sort: c.Laid.To.AddDate(1, 0, 0),
	}
	if e.State == incubation.Pipped {
		l.State = state{"notice", "pipped"}
	}
	if e.Estimate == nil {
		l.Words = v.without(e)
		return l
	}
	h := e.Estimate.Hatch
	l.Words = e.Estimate.Sex.Words
	if h.Likely.IsZero() {
		return l
	}
	l.Hatch, l.Likely, l.sort = v.say.days(h.Earliest, h.Latest), v.say.day(h.Likely), h.Likely
	if l.State == quiet && v.snap.Time.After(h.Earliest) {
		l.State = state{"notice", "look daily"}
	}
	return l
}

// without says why there is no estimate.
func (v *visit) without(e monitor.EggNow) string {
	switch {
	case e.Computing && !v.snap.Trusted:
		return "the estimate waits until the clock is set"
	case e.Computing:
		return "the estimate is being worked out"
	}
	return "no estimate: no record and no setpoint"
}

// alike reports whether two eggs' lines read the same but for the mark.
func (l eggLine) alike(o eggLine) bool {
	l.Marks, l.sort = o.Marks, o.sort
	return l == o
}

// dayOf tells on which day after the middle of the laying interval t is.
func dayOf(laid monitor.LaidJSON, t time.Time) string { return dayWord(middle(laid), t) }

// dayWord counts whole days, on every page and on paper: an egg found 59.7
// days after its laying hatched on day 59.
func dayWord(from, t time.Time) string {
	return fmt.Sprintf("day %d", max(0, t.Sub(from)/(24*time.Hour)))
}

func middle(laid monitor.LaidJSON) time.Time {
	return laid.From.Add(laid.To.Sub(laid.From) / 2)
}
