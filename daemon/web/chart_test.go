package web

import (
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

var dawn = time.Date(2026, 6, 14, 4, 0, 0, 0, time.UTC)

func minutes(n float64) time.Time { return dawn.Add(time.Duration(n * float64(time.Minute))) }

// Against a plain look at all readings of each column.
func TestFoldKeepsExtremes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		points := 1 + r.IntN(40)
		length := time.Duration(1+r.IntN(100000)) * time.Second
		f := newFold(dawn, dawn.Add(length), points)
		if len(f.columns) > points {
			t.Fatalf("%d columns for %d points", len(f.columns), points)
		}
		all := map[int][]incubation.Celsius{}
		for range r.IntN(500) {
			at := dawn.Add(time.Duration(r.Int64N(int64(length+2*time.Minute))) - time.Minute)
			c := incubation.Celsius(20 + 15*r.Float64())
			f.add(at, c)
			if !at.Before(dawn) && at.Before(dawn.Add(length)) {
				i := int(at.Sub(dawn) / f.width)
				all[i] = append(all[i], c)
			}
		}
		for i, k := range f.done() {
			if k.N != len(all[i]) {
				t.Fatalf("column %d holds %d of %d", i, k.N, len(all[i]))
			}
			for _, c := range all[i] {
				if c < k.Low || c > k.High {
					t.Fatalf("column %d, %.2f to %.2f, loses %.2f", i, k.Low, k.High, c)
				}
			}
			if k.N > 0 && (k.Mean < k.Low || k.Mean > k.High) {
				t.Fatalf("mean %v outside its column", k)
			}
		}
	}
}

func TestGaps(t *testing.T) {
	for _, c := range []struct {
		sentence string
		interval time.Duration
		at       []float64 // minutes
		end      float64
		want     [][2]float64
	}{
		{"a steady probe has none", 10 * time.Second, []float64{0, 1, 2, 3, 4}, 5, nil},
		{"a silence of ten minutes is one", 10 * time.Second, []float64{0, 1, 2, 12, 13}, 14, [][2]float64{{2, 12}}},
		{"a battery sensor that speaks every 5 min is not silent", 5 * time.Minute, []float64{0, 5, 10, 20, 25}, 30, nil},
		{"but after more than five of its intervals it is", 5 * time.Minute, []float64{0, 5, 10, 36, 41}, 45, [][2]float64{{10, 36}}},
		{"a logger's file with a slower rhythm has none", 10 * time.Second, []float64{0, 15, 30, 45, 60}, 75, nil},
		{"a silence in a slower rhythm is one", 10 * time.Second, []float64{0, 15, 30, 75, 90}, 105, [][2]float64{{30, 75}}},
		{"no rhythm is slower than half an hour", 10 * time.Second, []float64{0, 40, 80}, 81, [][2]float64{{0, 40}, {40, 80}}},
		{"nothing at all is one gap", 10 * time.Second, nil, 60, [][2]float64{{0, 60}}},
		{"silence at the end counts", 10 * time.Second, []float64{0, 1}, 20, [][2]float64{{1, 20}}},
		{"silence at the beginning counts", 10 * time.Second, []float64{20, 21}, 22, [][2]float64{{0, 20}}},
		{"doubled and backward times do no harm", 10 * time.Second, []float64{0, 1, 1, 0, 2}, 3, nil},
	} {
		g := newGaps(dawn, c.interval)
		for _, m := range c.at {
			g.seen(minutes(m))
		}
		var want []Gap
		for _, w := range c.want {
			want = append(want, Gap{minutes(w[0]), minutes(w[1])})
		}
		if diff := cmp.Diff(want, g.end(minutes(c.end))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.sentence, diff)
		}
	}
}

// Against every minute: a gap of both is where each has one.
func TestBothAgreesWithEachMinute(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	random := func() []Gap {
		var out []Gap
		for at := r.IntN(20); at < 200; {
			to := at + 1 + r.IntN(30)
			out = append(out, Gap{minutes(float64(at)), minutes(float64(to))})
			at = to + 1 + r.IntN(30)
		}
		return out
	}
	in := func(list []Gap, t time.Time) bool {
		for _, g := range list {
			if !t.Before(g.From) && t.Before(g.To) {
				return true
			}
		}
		return false
	}
	for range 200 {
		a, b := random(), random()
		got := both(a, b)
		for m := range 240 {
			at := minutes(float64(m) + 0.5)
			if in(got, at) != (in(a, at) && in(b, at)) {
				t.Fatalf("minute %d of %v and %v", m, a, b)
			}
		}
		if diff := cmp.Diff(got, both(b, a)); diff != "" {
			t.Fatal(diff)
		}
	}
}

func TestExcursions(t *testing.T) {
	low, high := incubation.Celsius(26), incubation.Celsius(30)
	column := func(m float64, lo, hi incubation.Celsius) Column {
		return Column{Time: minutes(m), Low: lo, Mean: (lo + hi) / 2, High: hi, N: 3}
	}
	columns := []Column{
		column(0, 27, 29), column(1, 28, 31), column(2, 29, 32), column(3, 28, 29),
		column(4, 25, 27),
		{Time: minutes(5)},
		column(6, 24, 27),
	}
	want := []excursion{{minutes(1), minutes(3), 32}, {minutes(4), minutes(5), 25}, {minutes(6), minutes(7), 24}}
	r := record{Width: time.Minute, Columns: columns, Gaps: []Gap{{minutes(5), minutes(6)}}}
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
		k := Column{Time: minutes(float64(m))}
		if m != 4 && m != 5 {
			k.Low, k.Mean, k.High, k.N = 27, 27.5, 28, 1
		}
		r.Columns = append(r.Columns, k)
	}
	s := scale{from: r.From, to: r.To, low: 25, high: 30}
	var whole, broken chart
	drawRecord(&whole, s, r)
	r.Gaps = []Gap{{minutes(3.9), minutes(6.1)}}
	drawRecord(&broken, s, r)
	if a, b := strings.Count(whole.Mean, "M"), strings.Count(broken.Mean, "M"); a != 1 || b != 2 {
		t.Errorf("pieces of line: %d without a gap, %d with one", a, b)
	}
}

func BenchmarkFoldSixtyDays(b *testing.B) {
	to := dawn.Add(60 * 24 * time.Hour)
	for b.Loop() {
		f := newFold(dawn, to, 800)
		g := newGaps(dawn, 10*time.Second)
		for at := dawn; at.Before(to); at = at.Add(10 * time.Second) {
			g.seen(at)
			f.add(at, 28)
		}
		if len(g.end(to)) != 0 || len(f.done()) != 800 {
			b.Fatal("the fold lost its columns")
		}
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
