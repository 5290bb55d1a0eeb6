package review_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

// Whatever is thinned to however few columns: the extremes of each column are
// readings of it, every reading lies between them, none is lost, and so the
// extremes of all are kept.
func TestThinningKeepsExtremes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := time.Duration(rapid.IntRange(1, 100*24*3600).Draw(t, "seconds")) * time.Second
		points := rapid.IntRange(1, 900).Draw(t, "points")
		thin := review.NewThinner(found, found.Add(length), points)
		offsets := rapid.SliceOfN(rapid.Int64Range(0, int64(length/time.Second)-1), 0, 300).Draw(t, "at")
		slices.Sort(offsets)
		lowest, highest := incubation.Celsius(1e9), incubation.Celsius(-1e9)
		for _, s := range offsets {
			c := incubation.Celsius(rapid.IntRange(-4000, 6000).Draw(t, "c")) / 100
			lowest, highest = min(lowest, c), max(highest, c)
			thin.Add(found.Add(time.Duration(s)*time.Second), c)
		}
		got := thin.Points()
		n := 0
		low, high := incubation.Celsius(1e9), incubation.Celsius(-1e9)
		for i, p := range got {
			if i > 0 && p.Time.Sub(got[i-1].Time) != thin.Width() {
				t.Fatalf("column %d begins %v after the one before, not %v", i, p.Time.Sub(got[i-1].Time), thin.Width())
			}
			if p.N == 0 {
				continue
			}
			n += p.N
			low, high = min(low, p.Low), max(high, p.High)
			if p.Low > p.Mean || p.Mean > p.High {
				t.Fatalf("column %d: mean %v is not between %v and %v", i, p.Mean, p.Low, p.High)
			}
		}
		if n != len(offsets) || len(got) > points {
			t.Fatalf("%d of %d readings in %d columns of at most %d", n, len(offsets), len(got), points)
		}
		if n > 0 && (low != lowest || high != highest) {
			t.Fatalf("extremes %v and %v became %v and %v", lowest, highest, low, high)
		}
	})
}

// The same for a whole review: its record's extremes are those of the readings
// that count, whatever gaps and broken stretches lie in them.
func TestRecordKeepsExtremes(t *testing.T) {
	d := begun(t)
	rapid.Check(t, func(rt *rapid.T) {
		box := steady(31)
		for range rapid.IntRange(0, 6).Draw(rt, "events") {
			hour, minutes := rapid.Float64Range(2, 50).Draw(rt, "hour"), rapid.Float64Range(1, 400).Draw(rt, "minutes")
			if rapid.Bool().Draw(rt, "silent") {
				box = box.silent(hour, minutes)
			} else {
				box = box.but(hour, minutes, incubation.Celsius(rapid.IntRange(200, 400).Draw(rt, "c"))/10)
			}
		}
		r := of(t, d, 60, map[string]trace{"in-box": box}, func(a *review.Asked) {
			a.Points = rapid.IntRange(1, 500).Draw(rt, "points")
		}).Records[0]
		low, high, n := incubation.Celsius(1e9), incubation.Celsius(-1e9), 0
		for at := on(1); at.Before(on(60)); at = at.Add(time.Minute) {
			if c, _, ok := box(at); ok {
				low, high = min(low, c), max(high, c)
				n++
			}
		}
		if r.Readings != n || *r.Lowest != low || *r.Highest != high {
			rt.Fatalf("%d readings from %v to %v became %d from %v to %v", n, low, high, r.Readings, *r.Lowest, *r.Highest)
		}
		kept := 0
		lowest, highest := incubation.Celsius(1e9), incubation.Celsius(-1e9)
		for _, p := range r.Points {
			kept += p.N
			lowest, highest = min(lowest, p.Low), max(highest, p.High)
		}
		if kept != n || lowest != low || highest != high {
			rt.Fatalf("the columns hold %d readings from %v to %v, want %d from %v to %v", kept, lowest, highest, n, low, high)
		}
	})
}
