package web

import (
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"

	"github.com/google/go-cmp/cmp"
)

var dawn = time.Date(2026, 6, 14, 4, 0, 0, 0, time.UTC)

func minutes(n float64) time.Time { return dawn.Add(time.Duration(n * float64(time.Minute))) }

func TestExcursions(t *testing.T) {
	low, high := incubation.Celsius(26), incubation.Celsius(30)
	column := func(m float64, lo, hi incubation.Celsius) review.Point {
		return review.Point{Time: minutes(m), Low: lo, Mean: (lo + hi) / 2, High: hi, N: 3}
	}
	columns := []review.Point{
		column(0, 27, 29), column(1, 28, 31), column(2, 29, 32), column(3, 28, 29),
		column(4, 25, 27),
		{Time: minutes(5)},
		column(6, 24, 27),
	}
	want := []excursion{{minutes(1), minutes(3), 32}, {minutes(4), minutes(5), 25}, {minutes(6), minutes(7), 24}}
	r := record{Width: time.Minute, Columns: columns, Gaps: []review.Span{{From: minutes(5), To: minutes(6)}}}
	if diff := cmp.Diff(want, excursions(r, fence{low: &low, high: &high})); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(want[1:], excursions(r, fence{low: &low, high: &high, since: minutes(2.5)})); diff != "" {
		t.Errorf("limits that hold from later on: %s", diff)
	}
	r.Gaps = nil
	want = []excursion{want[0], {minutes(4), minutes(7), 24}}
	if diff := cmp.Diff(want, excursions(r, fence{low: &low, high: &high})); diff != "" {
		t.Errorf("a column between two slow readings: %s", diff)
	}
	if got := excursions(r, fence{}); got != nil {
		t.Errorf("without limits there is %v", got)
	}
}

// A line that ran across a gap would tell of readings that nobody took.
func TestDrawnLineBreaksAtGaps(t *testing.T) {
	r := record{From: dawn, To: minutes(10), Width: time.Minute}
	for m := range 10 {
		k := review.Point{Time: minutes(float64(m))}
		if m != 4 && m != 5 {
			k.Low, k.Mean, k.High, k.N = 27, 27.5, 28, 1
		}
		r.Columns = append(r.Columns, k)
	}
	s := scale{from: r.From, to: r.To, low: 25, high: 30, floor: chartFloor}
	var whole, broken chart
	drawRecord(&whole, s, r)
	r.Gaps = []review.Span{{From: minutes(3.9), To: minutes(6.1)}}
	drawRecord(&broken, s, r)
	if a, b := strings.Count(whole.Mean, "M"), strings.Count(broken.Mean, "M"); a != 1 || b != 2 {
		t.Errorf("pieces of line: %d without a gap, %d with one", a, b)
	}
}

func TestLimitsHoldForTheSetpointTheyAreOf(t *testing.T) {
	at := func(m float64, c incubation.Celsius) book.Setpoint {
		return book.Setpoint{From: minutes(m), Celsius: c}
	}
	for _, c := range []struct {
		sentence string
		list     []book.Setpoint
		want     time.Time
	}{
		{"no setpoint", nil, time.Time{}},
		{"one", []book.Setpoint{at(1, 28)}, time.Time{}},
		{"a touch of the dial changes nothing", []book.Setpoint{at(1, 28), at(5, 28.2)}, time.Time{}},
		{"a drop does", []book.Setpoint{at(1, 32), at(5, 28), at(7, 28.3)}, minutes(5)},
		{"there and back", []book.Setpoint{at(1, 28), at(5, 32), at(9, 28)}, minutes(9)},
	} {
		if got := aimedSince(c.list); !got.Equal(c.want) {
			t.Errorf("%s: %v, want %v", c.sentence, got, c.want)
		}
	}
}
