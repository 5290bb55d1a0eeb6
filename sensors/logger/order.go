package logger

import (
	"fmt"
	"math"
)

// An order says which of three numbers is day, month and year.
type order uint8

const (
	dayFirst order = iota
	monthFirst
	yearFirst // of two digits
)

// date gives the day that an open stamp means in an order.
func (st stamp) date(o order) (nanos int64, ok bool) {
	switch {
	case o == dayFirst:
		return midnight(century(int(st.c)), int(st.b), int(st.a))
	case o == monthFirst:
		return midnight(century(int(st.c)), int(st.a), int(st.b))
	case st.c > 31:
		return 0, false
	}
	return midnight(century(int(st.a)), int(st.b), int(st.c))
}

func (st stamp) possible() bool {
	for o := dayFirst; o <= yearFirst; o++ {
		if _, ok := st.date(o); ok {
			return true
		}
	}
	return false
}

// A trial is how a whole file looks in one order.
type trial struct {
	order  order
	misses int     // dates that do not exist
	days   float64 // the sum of all steps, back and forth
}

// dateOrder decides over the whole file in which order its dates stand. A
// date that exists in one order only decides; else the order in which the
// file walks steadily, which is far shorter than one that jumps by months at
// every midnight. A file that tells by neither is refused.
func (f *file) dateOrder() (order, error) {
	count := 0
	var example stamp
	for r := range f.rows.all() {
		if r.form >= open {
			example = r.stamp
			count++
		}
	}
	if count == 0 {
		return dayFirst, nil
	}
	best, next := f.try(dayFirst), f.try(monthFirst)
	if next.better(best) {
		best, next = next, best
	}
	third := f.try(yearFirst)
	if third.misses == 0 && (best.misses > 0 || third.days*3 < best.days) {
		best, next = third, best
	}
	written := fmt.Sprintf("%02d/%02d/%02d", example.a, example.b, example.c)
	if best.misses*100 > count {
		return 0, fmt.Errorf("read the log's dates: they stand in different orders, "+
			"as %s: write them as 2026-03-31", written)
	}
	if next.misses == best.misses && next.days <= best.days*3 && f.differ(best.order, next.order) {
		return 0, fmt.Errorf("read the log's dates: nothing in the file tells whether %s is "+
			"day/month or month/day: write them as 2026-03-31", written)
	}
	f.notes.add("dates like %s are read as %s", written, [...]string{
		"day, month, year", "month, day, year", "year, month, day",
	}[best.order])
	return best.order, nil
}

func (t trial) better(than trial) bool {
	if t.misses != than.misses {
		return t.misses < than.misses
	}
	return t.days < than.days
}

// try walks through the file in one order.
func (f *file) try(o order) trial {
	t := trial{order: o}
	var before int64
	walking := false
	for r := range f.rows.all() {
		if r.form < open {
			continue
		}
		at, ok := r.date(o)
		if !ok {
			t.misses++
			continue
		}
		at += r.nanos
		if walking {
			t.days += math.Abs(float64(at-before)) / float64(day)
		}
		before, walking = at, true
	}
	return t
}

// differ reports whether two orders give any row another day.
func (f *file) differ(a, b order) bool {
	for r := range f.rows.all() {
		if r.form < open {
			continue
		}
		x, _ := r.date(a)
		y, _ := r.date(b)
		if x != y {
			return true
		}
	}
	return false
}
