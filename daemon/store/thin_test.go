package store_test

import (
	"errors"
	"iter"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/store"
	"clutchd/incubation"
)

func minute(i int) time.Time { return noon.Add(time.Duration(i) * time.Minute) }

// seq gives readings, an error for each whose probe is empty.
func seq(all []incubation.Reading) iter.Seq2[incubation.Reading, error] {
	return func(yield func(incubation.Reading, error) bool) {
		for _, r := range all {
			if r.Probe == "" && !yield(r, errors.New("damaged")) || r.Probe != "" && !yield(r, nil) {
				return
			}
		}
	}
}

// at gives readings of the values, a minute apart; 0 is left out.
func at(values ...float64) []incubation.Reading {
	var all []incubation.Reading
	for i, v := range values {
		if v != 0 {
			all = append(all, warm("p", minute(i), v))
		}
	}
	return all
}

func TestThin(t *testing.T) {
	point := func(from, to, n int, low, high store.Extremes) store.Point {
		low.Max, low.MaxAt = high.Max, high.MaxAt
		low.Count = n
		return store.Point{From: minute(from), To: minute(to), Count: n, Celsius: low}
	}
	low := func(v float64, i int, mean float64) store.Extremes {
		return store.Extremes{Min: v, MinAt: minute(i), Mean: mean}
	}
	high := func(v float64, i int) store.Extremes { return store.Extremes{Max: v, MaxAt: minute(i)} }
	for _, c := range []struct {
		why     string
		all     []incubation.Reading
		minutes int
		points  int
		want    []store.Point
	}{
		{"nothing gives nothing", nil, 10, 5, []store.Point{}},
		{"no points give nothing", at(28, 29), 2, 0, nil},
		{"an empty range gives nothing", at(28, 29), 0, 5, nil},
		{"a short peak is kept with its time", at(28, 31, 28, 29, 26, 29), 6, 2, []store.Point{
			point(0, 2, 3, low(28, 0, 29), high(31, 1)), point(3, 5, 3, low(26, 4, 28), high(29, 3)),
		}},
		{"the first of equals has the time", at(28, 28), 2, 1, []store.Point{
			point(0, 1, 2, low(28, 0, 28), high(28, 0)),
		}},
		{"readings outside are passed over", at(20, 28, 40), 2, 1, []store.Point{
			point(0, 1, 2, low(20, 0, 24), high(28, 1)),
		}},
		{
			"a silence longer than five distances is a gap",
			at(28, 28, 28, 28, 0, 0, 0, 0, 0, 0, 0, 0, 28, 28, 28, 28), 16, 4,
			[]store.Point{
				point(0, 3, 4, low(28, 0, 28), high(28, 0)),
				{From: minute(3), To: minute(12)},
				point(12, 15, 4, low(28, 12, 28), high(28, 12)),
			},
		},
		{"more points than readings make no gaps", at(28, 29, 0, 28), 4, 800, []store.Point{
			point(0, 0, 1, low(28, 0, 28), high(28, 0)), point(1, 1, 1, low(29, 1, 29), high(29, 1)),
			point(3, 3, 1, low(28, 3, 28), high(28, 3)),
		}},
	} {
		got := store.Thin(seq(c.all), noon, minute(c.minutes), c.points)
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.why, diff)
		}
	}
}

// Errors on the way are counted at the point behind them, the last ones at
// the last.
func TestThinCountsDamage(t *testing.T) {
	broken := incubation.Reading{}
	all := []incubation.Reading{broken, at(28)[0], broken, broken, warm("p", minute(5), 28), broken}
	got := store.Thin(seq(all), noon, minute(10), 2)
	if len(got) != 2 || got[0].Damaged != 1 || got[1].Damaged != 3 {
		t.Errorf("got %+v", got)
	}
}
