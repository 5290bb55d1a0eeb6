package review_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/review"

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
		f := review.NewThinner(dawn, dawn.Add(length), points)
		all := map[int][]incubation.Celsius{}
		for range r.IntN(500) {
			at := dawn.Add(time.Duration(r.Int64N(int64(length+2*time.Minute))) - time.Minute)
			c := incubation.Celsius(20 + 15*r.Float64())
			f.Add(at, c)
			if !at.Before(dawn) && at.Before(dawn.Add(length)) {
				i := int(at.Sub(dawn) / f.Width())
				all[i] = append(all[i], c)
			}
		}
		columns := f.Points()
		if len(columns) > points {
			t.Fatalf("%d columns for %d points", len(columns), points)
		}
		for i, k := range columns {
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
		g := review.NewGapWatch(dawn, c.interval)
		for _, m := range c.at {
			g.Seen(minutes(m))
		}
		var want []review.Span
		for _, w := range c.want {
			want = append(want, review.Span{minutes(w[0]), minutes(w[1])})
		}
		if diff := cmp.Diff(want, g.End(minutes(c.end))); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.sentence, diff)
		}
	}
}

// Against every minute: a gap of both is where each has one.
func TestBothAgreesWithEachMinute(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	random := func() []review.Span {
		var out []review.Span
		for at := r.IntN(20); at < 200; {
			to := at + 1 + r.IntN(30)
			out = append(out, review.Span{minutes(float64(at)), minutes(float64(to))})
			at = to + 1 + r.IntN(30)
		}
		return out
	}
	in := func(list []review.Span, t time.Time) bool {
		for _, g := range list {
			if !t.Before(g.From) && t.Before(g.To) {
				return true
			}
		}
		return false
	}
	for range 200 {
		a, b := random(), random()
		got := review.Both(a, b)
		for m := range 240 {
			at := minutes(float64(m) + 0.5)
			if in(got, at) != (in(a, at) && in(b, at)) {
				t.Fatalf("minute %d of %v and %v", m, a, b)
			}
		}
		if diff := cmp.Diff(got, review.Both(b, a)); diff != "" {
			t.Fatal(diff)
		}
	}
}

func BenchmarkFoldSixtyDays(b *testing.B) {
	to := dawn.Add(60 * 24 * time.Hour)
	for b.Loop() {
		f := review.NewThinner(dawn, to, 800)
		g := review.NewGapWatch(dawn, 10*time.Second)
		for at := dawn; at.Before(to); at = at.Add(10 * time.Second) {
			g.Seen(at)
			f.Add(at, 28)
		}
		if len(g.End(to)) != 0 || len(f.Points()) != 800 {
			b.Fatal("the fold lost its columns")
		}
	}
}
