package thermal_test

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/incubation/thermal"
)

// Sen's own example (1968, as repeated in the tests of SciPy and others), with
// the 93 % interval that he gives.
func TestSlopeOfSensExample(t *testing.T) {
	x := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	slope, low, high, ok := thermal.TheilSen(x, y, 1.812)
	if !ok || slope != 4 {
		t.Errorf("slope %v (%v), published 4", slope, ok)
	}
	if math.Abs(low-26.0/7) > 1e-9 || math.Abs(high-35.0/8) > 1e-9 {
		t.Errorf("interval %.3f to %.3f, published 3.714 to 4.375", low, high)
	}
}

func TestTrend(t *testing.T) {
	tests := []struct {
		name         string
		step, length time.Duration
		curve        func(float64) float64
		noise        float64
		want, within float64
		known        bool
	}{
		{"a point every 10 s", 10 * time.Second, 10 * time.Minute, straight(28, 0.12), 0, 0.12, 1e-9, true},
		{"a point every 5 min", 5 * time.Minute, 20 * time.Minute, straight(28, 0.12), 0, 0.12, 1e-9, true},
		{"three points are too few", 5 * time.Minute, 10 * time.Minute, straight(28, 0.12), 0, 0, 0, false},
		{"points an hour apart tell no slope", time.Hour, 9 * time.Hour, straight(28, 0.12), 0, 0, 0, false},
		{"a chip's noise", 10 * time.Second, 10 * time.Minute, straight(28, 0.12), 0.03, 0.12, 0.02, true},
		{"only the last minutes count", 10 * time.Second, 30 * time.Minute, func(m float64) float64 {
			return 28 - 0.2*math.Min(m, 20) + 0.3*math.Max(m-20, 0)
		}, 0, 0.3, 1e-9, true},
		{"steps of a coarse chip: 0.0938 is 3/2 of its step in a minute", 20 * time.Second, 10 * time.Minute, func(m float64) float64 {
			return math.Round((28+0.1*m)*16) / 16
		}, 0, 0.09375, 0.01, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := window(record(tt.length, tt.step, tt.noise, tt.curve)).Trend()
			if ok != tt.known {
				t.Fatalf("known %v, want %v", ok, tt.known)
			}
			if ok && (math.Abs(got.PerMinute-tt.want) > tt.within || got.Low > tt.want+1e-9 || got.High < tt.want-1e-9) {
				t.Errorf("slope %.4f (%.4f to %.4f), want %.4f", got.PerMinute, got.Low, got.High, tt.want)
			}
		})
	}
}

// The interval is to hold the truth in 90 % of records: counted over 400.
func TestTrendIntervalHolds(t *testing.T) {
	held := 0
	const all = 400
	for i := range all {
		length := 7*time.Minute + time.Duration(i)*time.Millisecond // its own dice
		got, _ := window(record(length, 20*time.Second, 0.03, straight(28, 0.05))).Trend()
		if got.Low <= 0.05 && got.High >= 0.05 {
			held++
		}
	}
	if share := float64(held) / all; share < 0.86 || share > 0.97 {
		t.Errorf("the 90 %% interval held the truth in %.1f %%", 100*share)
	}
}

// A step is no slope: a probe that was put elsewhere does not warm.
func TestTrendOfAStep(t *testing.T) {
	for after := 0.0; after < 12; after += 0.5 {
		points := record(12*time.Minute, 20*time.Second, 0.02, func(m float64) float64 {
			if m >= after {
				return 31
			}
			return 28
		})
		if got, _ := window(points).Trend(); got.Low > 0.06 {
			t.Errorf("a step after %.1f min is a rise of at least %.3f a minute", after, got.Low)
		}
	}
}

// Up to a fifth of the points gone wrong neither make a rise nor hide one.
func TestOutliersDoNotFlip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope := rapid.SampledFrom([]float64{-0.2, -0.1, 0, 0.1, 0.2}).Draw(t, "slope")
		points := record(6*time.Minute, 20*time.Second, 0.01, straight(28, slope))
		wrong := rapid.SliceOfNDistinct(rapid.IntRange(0, len(points)-1), 1, len(points)/5, rapid.ID).Draw(t, "wrong")
		for _, i := range wrong {
			points[i].Celsius = rapid.Float64Range(-40, 85).Draw(t, "value")
		}
		got, ok := window(points).Trend()
		switch {
		case !ok:
			t.Fatal("no slope")
		case slope > 0 && got.PerMinute <= 0.03, slope < 0 && got.PerMinute >= -0.03:
			t.Errorf("slope %.2f came out as %.3f with %d of %d points wrong", slope, got.PerMinute, len(wrong), len(points))
		case slope == 0 && math.Abs(got.PerMinute) > 0.05:
			t.Errorf("a constant record has slope %.3f with %d of %d points wrong", got.PerMinute, len(wrong), len(points))
		}
	})
}

// Twice the differences are twice the slope, and a warmer record has the same.
func TestTrendScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := record(8*time.Minute, 20*time.Second, 0.05, straight(28, rapid.Float64Range(-0.3, 0.3).Draw(t, "slope")))
		k, off := rapid.Float64Range(0.2, 5).Draw(t, "k"), rapid.Float64Range(-20, 20).Draw(t, "off")
		scaled := make([]thermal.Point, len(base))
		for i, p := range base {
			scaled[i] = thermal.Point{At: p.At, Celsius: off + k*p.Celsius}
		}
		a, _ := window(base).Trend()
		b, _ := window(scaled).Trend()
		for _, pair := range [][2]float64{{a.PerMinute, b.PerMinute}, {a.Low, b.Low}, {a.High, b.High}} {
			if math.Abs(k*pair[0]-pair[1]) > 1e-9 {
				t.Errorf("%v times %v is not %v", k, pair[0], pair[1])
			}
		}
	})
}

func TestFell(t *testing.T) {
	door := record(10*time.Minute, 20*time.Second, 0, func(m float64) float64 {
		if m >= 5 && m < 7 {
			return 24
		}
		return 28
	})
	if k, when := window(door).Fell(3 * time.Minute); k != 4 || !when.Equal(at(5)) {
		t.Errorf("fell by %v at %v", k, when)
	}
	slow := record(30*time.Minute, 20*time.Second, 0, straight(28, -0.1))
	if k, _ := window(slow).Fell(3 * time.Minute); math.Abs(k-0.3) > 1e-6 {
		t.Errorf("0.1 K a minute is %v in three", k)
	}
}

func TestClimbed(t *testing.T) {
	tests := []struct {
		name  string
		curve func(minutes float64) float64
		want  float64
	}{
		{"level", straight(28, 0), 0},
		{"falling", straight(30, -0.1), 0},
		{"one rise", straight(28, 0.1), 2},
		{"what it rose by before a fall is over", func(m float64) float64 {
			return 28 + 0.3*math.Min(m, 5) - 0.2*math.Max(0, math.Min(m, 10)-5) + 0.1*math.Max(0, m-10)
		}, 1},
		{"a dip within the slack is none", func(m float64) float64 {
			return 28 + 0.1*math.Min(m, 10) - 0.1*math.Max(0, math.Min(m, 11)-10) + 0.1*math.Max(0, m-11)
		}, 1.8},
		{"just turned, within the slack", func(m float64) float64 {
			return 28 + 0.1*math.Min(m, 19) - 0.1*math.Max(0, m-19)
		}, 1.8},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := window(record(20*time.Minute, time.Minute, 0, tt.curve))
			if got := w.Climbed(0.2); math.Abs(got-tt.want) > 1e-6 {
				t.Errorf("climbed %.3f K, want %.3f", got, tt.want)
			}
		})
	}
	if got := new(thermal.Window).Climbed(0.2); got != 0 {
		t.Errorf("of nothing: %v", got)
	}
}

func TestWindowDropsWhatItCannotUse(t *testing.T) {
	w := window(record(10*time.Minute, 20*time.Second, 0, straight(28, 0.1)))
	before, _ := w.Trend()
	for name, p := range map[string]thermal.Point{
		"no number":             {At: at(11), Celsius: math.NaN()},
		"an older point":        {At: at(3), Celsius: 99},
		"one right after it":    {At: at(10).Add(time.Second), Celsius: 99},
		"one that is unbounded": {At: at(11), Celsius: math.Inf(1)},
	} {
		if after, _ := w.Trend(); w.Add(p) || after != before {
			t.Errorf("%s is taken", name)
		}
	}
	w.Clear()
	if _, ok := w.Trend(); ok {
		t.Error("a window that was cleared has a slope")
	}
}

func BenchmarkTrend(b *testing.B) {
	w, n := window(record(40*time.Minute, 20*time.Second, 0.03, straight(28, 0.1))), 0
	for b.Loop() {
		n++
		w.Add(thermal.Point{At: at(40).Add(time.Duration(n) * thermal.Spacing), Celsius: 32 + float64(n)*0.03})
		w.Trend()
	}
}

func BenchmarkRise(b *testing.B) {
	w := window(record(40*time.Minute, 20*time.Second, 0.03, toward(28, 36, 60)))
	for b.Loop() {
		w.Rise(34.5)
	}
}
