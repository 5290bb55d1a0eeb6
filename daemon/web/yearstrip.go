package web

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"clutchd/incubation"
)

// A yearStrip is a female's year as a keeper would write it on the wall: rows of
// thirteen weeks, the newest last, with what was seen, who was brought and
// what was laid at its day. Each kind has a shape of its own.
type yearStrip struct {
	Width, Height string
	Rows          []yearRow
	Text          string // what it shows, for those who do not see it
}

type yearRow struct {
	Y     string // of the row, from the top
	Marks []yearMark
	Ticks []yearTick
	Now   string // x of now; "": it is in no such row
	End   string // where the row's line ends
}

type yearMark struct{ Draw, X, Y, Title, Text string }

type yearTick struct{ X, Text string }

// Sizes of the drawing: on a phone a unit is about a pixel.
const (
	stripWeeks = 13
	stripRows  = 4
	stripDay   = 3.7
	stripLeft  = 12.0
	stripHigh  = 78.0 // of a row
	stripSeen  = 32.0 // where checks stand; pairings above, layings below
)

func (v *visit) yearStrip(a *incubation.Animal) *yearStrip {
	today := v.say.dayStart(v.snap.Time)
	row := func(i int) time.Time { return today.AddDate(0, 0, 1-7*stripWeeks*(stripRows-i)) }
	s := &yearStrip{Width: num(2*stripLeft + 7*stripWeeks*stripDay)}
	var seen, paired, laid int
	for i := range stripRows {
		from, to := row(i), row(i+1)
		r := v.stripScale(from, to)
		x := func(t time.Time) string { return num(stripLeft + stripDay*(t.Sub(from).Hours()/24)) }
		within := func(t time.Time) bool { return !t.Before(from) && t.Before(to) }
		for k := range a.Checks {
			if c := &a.Checks[k]; within(c.At) {
				seen++
				r.Marks = append(r.Marks, yearMark{"g-" + drawOf(c), x(c.At), num(stripSeen), sawWords(*c) + ", " + v.say.day(c.At), ""})
			}
		}
		for _, p := range v.snap.Book.Pairings {
			if p.Female == a.ID && within(p.At) {
				paired++
				title := "with " + v.snap.Book.Name(p.Male) + ", " + receptionWord(p.Outcome) + ", " + v.say.day(p.At)
				r.Marks = append(r.Marks, yearMark{"g-pair-" + string(p.Outcome), x(p.At), num(stripSeen - 19), title, ""})
			}
		}
		for _, c := range v.snap.Book.Clutches {
			if c.Female == a.ID && within(c.Laid.To) {
				laid++
				title := "laid " + counted(len(c.Eggs), "egg", "eggs") + ", " + c.ID + ", " + v.say.day(c.Laid.To)
				r.Marks = append(r.Marks, yearMark{"g-clutch", x(c.Laid.To), num(stripSeen + 17), title, fmt.Sprint(len(c.Eggs))})
			}
		}
		if within(v.snap.Time) {
			r.Now = x(v.snap.Time)
		}
		if len(s.Rows) == 0 && len(r.Marks) == 0 {
			continue // nothing as far back as that
		}
		r.Y = num(stripHigh * float64(len(s.Rows)))
		s.Rows = append(s.Rows, r)
	}
	if seen+paired+laid == 0 {
		return nil
	}
	sortMarks(s)
	s.Height = num(stripHigh * float64(len(s.Rows)))
	s.Text = counted(seen, "look", "looks") + ", " + counted(paired, "pairing", "pairings") + " and " +
		counted(laid, "laying", "layings") + " within a year."
	return s
}

// stripScale is an empty row with its months.
func (v *visit) stripScale(from, to time.Time) yearRow {
	r := yearRow{End: num(stripLeft + stripDay*(to.Sub(from).Hours()/24))}
	for t := time.Date(from.Year(), from.Month(), 1, 0, 0, 0, 0, from.Location()); t.Before(to); t = t.AddDate(0, 1, 0) {
		if !t.Before(from) {
			r.Ticks = append(r.Ticks, yearTick{num(stripLeft + stripDay*(t.Sub(from).Hours()/24)), t.Format("Jan")})
		}
	}
	return r
}

// sortMarks puts each row's marks in the order of their days: map order is
// none.
func sortMarks(s *yearStrip) {
	for i := range s.Rows {
		slices.SortStableFunc(s.Rows[i].Marks, func(a, b yearMark) int {
			x, _ := strconv.ParseFloat(a.X, 64)
			y, _ := strconv.ParseFloat(b.X, 64)
			return cmp.Or(cmp.Compare(x, y), cmp.Compare(a.Title, b.Title))
		})
	}
}
