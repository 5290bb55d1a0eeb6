package sensors_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/incubation"
	"clutchd/sensors"
)

var noon = time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)

func celsius(at time.Time, c float64) incubation.Reading {
	return incubation.Reading{
		Probe: "p", Time: at, Has: incubation.Temperature, Celsius: incubation.Celsius(c),
	}
}

// letters tells verdicts by a letter each: "." good, "S" spiked, "J" jumped,
// "F" frozen, "!" a fault.
func letters(p sensors.Probe, values ...float64) string {
	var s sensors.Stream
	var out strings.Builder
	for i, v := range values {
		q, fault := s.Judge(p, celsius(noon.Add(time.Duration(i)*p.Interval), v))
		out.WriteString(letter(q, fault))
	}
	return out.String()
}

func letter(q incubation.Quality, fault *sensors.Fault) string {
	switch {
	case fault != nil:
		return "!"
	case q == incubation.Spiked:
		return "S"
	case q == incubation.Jumped:
		return "J"
	case q == incubation.Frozen:
		return "F"
	case q == incubation.Good:
		return "."
	}
	return "?"
}

func TestSpikes(t *testing.T) {
	quick := sensors.Probe{ID: "p", Interval: 10 * time.Second, Resolution: 0.0625}
	slow := sensors.Probe{ID: "p", Interval: 5 * time.Minute, Resolution: 0.1}
	for _, row := range []struct {
		why    string
		probe  sensors.Probe
		values []float64
		want   string
	}{
		{
			"one lone value is a spike, and what follows it is good", quick,
			[]float64{28, 28.06, 28, 28, 33, 28, 28.06},
			"....S..",
		},
		{
			"two steps of the chip are none", quick,
			[]float64{28, 28, 28, 28, 28.125, 28, 28},
			".......",
		},
		{
			"an open door counts after two more readings: 20 s", quick,
			[]float64{28, 28, 28, 28, 26, 25.5, 25.1, 24.8, 24.6},
			"....SS...",
		},
		{
			"a heat gun, ever further out, is not held back longer", quick,
			[]float64{28, 28, 28, 28, 30, 33, 37, 42, 48},
			"....SS...",
		},
		{
			"back where it was lately it counts with the next", quick,
			[]float64{28, 28, 28, 28, 31, 31, 31, 31, 31, 28, 28, 28},
			"....SS...S..",
		},
		{
			"two spikes beside one another that disagree are two", quick,
			[]float64{28, 28, 28, 28, 40, 15, 28, 28},
			"....SS..",
		},
		{
			"a battery sensor's step counts with the next reading", slow,
			[]float64{28, 28, 28, 28, 34, 34.2, 34.1},
			"....S..",
		},
		{
			"a few kelvin in five minutes are a place's own", slow,
			[]float64{28, 28, 28, 28, 25.5, 24, 23},
			".......",
		},
		{
			"a heater's ramp is no row of spikes", quick,
			[]float64{28, 28.2, 28.4, 28.6, 28.8, 29, 29.2, 29.4, 29.6, 29.8},
			"..........",
		},
		{
			"values all over the place are believed in the end", quick,
			[]float64{28, 28, 28, 28, 50, 5, 51, 4, 50, 5, 50},
			"....SSSSSJJ",
		},
		{
			"too far at once, and staying there, it jumped", quick,
			[]float64{28, 28, 28, 28, 46, 46, 46, 46, 46},
			"....SSJJJ",
		},
		{
			"back from a jump it is good", quick,
			[]float64{28, 28, 28, 28, 46, 46, 46, 46, 28, 28, 28},
			"....SSJJS..",
		},
		{
			"85.00 in between is what a gateway passes on of a chip that lost its power", quick,
			[]float64{28, 28, 28, 28, 85, 85, 85, 28},
			"....!!!.",
		},
		{"85.00 at first too", quick, []float64{85, 28, 28}, "!.."},
		{"85.00 where it grew that hot is a value", quick, []float64{80, 81, 82, 84, 85, 85}, "......"},
		{"0.00 out of the warm is all bits zero", quick, []float64{28, 28, 28, 0, 0, 28}, "...!!."},
		{"0.00 in a cold garage is a value", quick, []float64{1, 0.5, 0.2, 0, 0}, "....."},
		{"0.00 of a probe of which nothing is known is a value", quick, []float64{0, 0, 0}, "..."},
		{"−45, −40 and 125 are ends of ranges", quick, []float64{28, 28, 28, -45, -40, 125, 28}, "...!!!."},
	} {
		if got := letters(row.probe, row.values...); got != row.want {
			t.Errorf("%s: %s, want %s", row.why, got, row.want)
		}
	}
}

// A jump is told for ten minutes; then the value is taken to be true.
func TestJumpIsAccepted(t *testing.T) {
	values := []float64{28, 28, 28, 28}
	for range 90 {
		values = append(values, 46)
	}
	got := letters(sensors.Probe{Interval: 10 * time.Second}, values...)
	if want := "....SS" + strings.Repeat("J", 60) + strings.Repeat(".", 28); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

// Twenty seconds at most, five minutes for a sensor that speaks every five:
// no real step is held back for longer, however large.
func TestNoStepIsHeldBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := sensors.Probe{Interval: rapid.SampledFrom([]time.Duration{
			time.Second, 10 * time.Second, time.Minute, 5 * time.Minute,
		}).Draw(t, "every")}
		noise := rapid.Float64Range(0, 0.1).Draw(t, "noise")
		step := rapid.Float64Range(-20, 20).Draw(t, "step")
		dice := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		var s sensors.Stream
		for i := range 40 {
			v := 28 + noise*dice.NormFloat64()
			if i >= 20 {
				v += step
			}
			q, _ := s.Judge(p, celsius(noon.Add(time.Duration(i)*p.Interval), v))
			most := 2
			if p.Interval >= 30*time.Second {
				most = 1
			}
			if q == incubation.Spiked && i >= 20+most {
				t.Fatalf("reading %d after a step of %g K is still a spike", i-20, step)
			}
		}
	})
}

// Adding a constant changes no verdict.
func TestVerdictsKeepWithAnOffset(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.SliceOfN(rapid.IntRange(-40, 40), 30, 60).Draw(t, "steps")
		offset := float64(rapid.IntRange(-8, 8).Draw(t, "offset"))
		var plain, moved sensors.Stream
		p := sensors.Probe{Interval: 10 * time.Second, Resolution: 0.0625}
		for i, n := range steps {
			at := noon.Add(time.Duration(i) * p.Interval)
			v := 25 + float64(n)/4 + 0.03125 // never a value that devices give instead
			a, _ := plain.Judge(p, celsius(at, v))
			b, _ := moved.Judge(p, celsius(at, v+offset))
			if a != b {
				t.Fatalf("reading %d is %s, and %s with %g K added", i, a, b, offset)
			}
		}
	})
}

// A coarser chip may flicker by more: a spike counted in its steps stays one.
func TestSpikesScaleWithResolution(t *testing.T) {
	for _, resolution := range []float64{0.25, 0.5, 1} {
		p := sensors.Probe{Interval: 10 * time.Second, Resolution: resolution}
		at := func(steps float64) float64 { return 28 + steps*resolution }
		got := letters(p, at(0), at(1), at(0), at(0), at(3), at(0), at(0), at(6), at(0))
		if got != ".......S." {
			t.Errorf("a chip of %g K: %s", resolution, got)
		}
	}
}

// An older reading changes nothing, a pause makes a new beginning, a clock that
// was set ahead none.
func TestStreamAndTime(t *testing.T) {
	p := sensors.Probe{Interval: 10 * time.Second}
	var s sensors.Stream
	for i := range 10 {
		s.Judge(p, celsius(noon.Add(time.Duration(i)*p.Interval), 28))
	}
	if q, _ := s.Judge(p, celsius(noon, 60)); q != incubation.Good {
		t.Errorf("a reading from before is %s", q)
	}
	ahead := s
	ahead.Shift(24 * time.Hour)
	if q, _ := ahead.Judge(p, celsius(noon.Add(24*time.Hour+100*time.Second), 60)); q != incubation.Spiked {
		t.Errorf("a spike after the clock was set is %s", q)
	}
	if q, _ := s.Judge(p, celsius(noon.Add(2*time.Hour), 60)); q != incubation.Good {
		t.Errorf("what comes after two hours of silence is %s", q)
	}
}

// Humidity that stays at 100 % is told by for how long, and is no fault.
func TestWet(t *testing.T) {
	var s sensors.Stream
	for i, h := range []incubation.Humidity{0.9, 1, 1, 1} {
		r := celsius(noon.Add(time.Duration(i)*time.Minute), 28)
		r.Has |= incubation.RelativeHumidity
		if r.Humidity = h; h == 1 {
			r.Quality = incubation.Saturated
		}
		if q, fault := s.Judge(sensors.Probe{}, r); q != r.Quality || fault != nil {
			t.Errorf("%v is %s, %v", h, q, fault)
		}
	}
	if want := noon.Add(time.Minute); !s.Wet().Equal(want) {
		t.Errorf("wet since %v, want %v", s.Wet(), want)
	}
}

func TestStreamAnyValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s sensors.Stream
		at := noon
		for range rapid.IntRange(1, 40).Draw(t, "readings") {
			at = at.Add(time.Duration(rapid.Int64Range(-int64(time.Hour), int64(2*time.Hour)).Draw(t, "after")))
			q, fault := s.Judge(sensors.Probe{}, celsius(at, rapid.Float64Range(-55, 125).Draw(t, "celsius")))
			if fault != nil && q != incubation.Good {
				t.Fatalf("a fault has the quality %s", q)
			}
		}
		if n := s.Spikes(); n < 0 || n > 40 || math.IsNaN(n) {
			t.Fatalf("%v spikes", n)
		}
	})
}

func BenchmarkStream(b *testing.B) {
	var s sensors.Stream
	p := sensors.Probe{Interval: 10 * time.Second, Resolution: 0.0625}
	dice := rand.New(rand.NewPCG(1, 2))
	values := make([]float64, 1024)
	for i := range values {
		values[i] = math.Round((28+0.05*dice.NormFloat64())*16) / 16
	}
	b.ReportAllocs()
	at := noon
	for i := 0; b.Loop(); i++ {
		at = at.Add(p.Interval)
		s.Judge(p, celsius(at, values[i%1024]))
	}
}
