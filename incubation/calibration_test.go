package incubation_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"clutchd/incubation"
)

func TestCorrect(t *testing.T) {
	const k, rh = incubation.Temperature, incubation.RelativeHumidity
	point := func(read, true float64) incubation.CalibrationPoint {
		return incubation.CalibrationPoint{Read: read, True: true}
	}
	for _, row := range []struct {
		why    string
		of     incubation.Quantity
		points []incubation.CalibrationPoint
		within float64
		raw    float64
		want   float64 // of raw
		off    float64 // accuracy
	}{
		{"nothing compared changes nothing", k, nil, 0.1, 28, 28, 0},
		{"one point is an offset", k, []incubation.CalibrationPoint{point(29.6, 30)}, 0.1, 28, 28.4, 0.1},
		{
			"ice tells of 0 °C, and eggs lie 30 K away",
			k,
			[]incubation.CalibrationPoint{point(0.4, 0)},
			0.1, 28, 27.6, math.Hypot(0.1, 0.15),
		},
		{
			"two points are a gain and an offset",
			k,
			[]incubation.CalibrationPoint{point(0.5, 0), point(31.1, 30)},
			0.1, 15.8, 15, 0.1,
		},
		{
			"beyond two points the error grows as at a lever's end",
			k,
			[]incubation.CalibrationPoint{point(0, 0), point(15, 15)},
			0.1, 15, 15, 0.1 * math.Hypot(1, 2),
		},
		{"two equal readings tell nothing", k, []incubation.CalibrationPoint{point(1, 0), point(1, 30)}, 0.1, 28, 28, 0},
		{
			"table salt at 25 °C is 75.29 % (Greenspan 1977)",
			rh,
			[]incubation.CalibrationPoint{point(0.72, 0.7529)},
			0.01, 0.8, 0.8329, math.Hypot(0.01, 0.02*(0.85-0.7529)),
		},
	} {
		c := incubation.Correct(row.of, row.points, row.within)
		if got := c.Of(row.raw); math.Abs(got-row.want) > 1e-9 || math.Abs(c.Accuracy-row.off) > 1e-9 {
			t.Errorf("%s: %g comes out as %g ± %g", row.why, row.raw, got, c.Accuracy)
		}
	}
}

// Two points are met exactly, wherever they lie.
func TestCorrectMeetsItsPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := incubation.CalibrationPoint{
			Read: rapid.Float64Range(-5, 15).Draw(t, "read"), True: rapid.Float64Range(-5, 15).Draw(t, "true"),
		}
		high := incubation.CalibrationPoint{
			Read: rapid.Float64Range(20, 45).Draw(t, "read 2"), True: rapid.Float64Range(20, 45).Draw(t, "true 2"),
		}
		c := incubation.Correct(incubation.Temperature, []incubation.CalibrationPoint{low, high}, 0.1)
		for _, p := range []incubation.CalibrationPoint{low, high} {
			if math.Abs(c.Of(p.Read)-p.True) > 1e-9 {
				t.Fatalf("%g comes out as %g, not %g", p.Read, c.Of(p.Read), p.True)
			}
		}
		if c.Accuracy < 0.1/math.Sqrt2-1e-9 {
			t.Fatalf("two points are right to within %g", c.Accuracy)
		}
	})
}

func TestPlacementCorrects(t *testing.T) {
	p := incubation.Placement{Gain: 2, Offset: -1, Humidity: incubation.Correction{Offset: 0.1}}
	for _, row := range []struct {
		why          string
		humid, after incubation.Humidity
	}{
		{"humidity is mended too", 0.5, 0.6},
		{"not beyond what there is", 0.95, 1},
		{"what is saturated stays so", 1, 1},
	} {
		r := p.Correct(incubation.Reading{
			Has: incubation.Temperature | incubation.RelativeHumidity, Celsius: 10, Humidity: row.humid,
		})
		if r.Celsius != 19 || r.Humidity != row.after {
			t.Errorf("%s: %g °C, %g", row.why, r.Celsius, r.Humidity)
		}
	}
}

func TestSaltsSayHowSure(t *testing.T) {
	for _, s := range incubation.Salts() {
		if u := s.Uncertainty(); u <= 0 || u > 0.01 {
			t.Errorf("%s is known to within %g", s, u)
		}
		if _, ok := s.Humidity(25); !ok {
			t.Errorf("of %s nothing is known", s)
		}
	}
}
