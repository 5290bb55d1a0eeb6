package incubation_test

import (
	"math"
	"testing"

	"clutchd/incubation"
)

// The record up to a day says what a track says that was fed no further. What
// stands in a track was rounded to single precision, so not bit for bit.
func TestUntil(t *testing.T) {
	c := swinging(29.5)
	whole := incubation.NewTrack(leopards(), laidAt(day0))
	c.feed(t, whole, 0.3125, 14)
	c.feed(t, whole, 15, 40)
	for _, row := range []struct {
		why string
		day float64
	}{
		{"in the first stretch", 9.5},
		{"in the gap", 14.5},
		{"behind the gap", 22.25},
		{"at the end", 40},
		{"after the end", 45},
	} {
		short := incubation.NewTrack(leopards(), laidAt(day0))
		c.feed(t, short, 0.3125, min(row.day, 14))
		if row.day > 15 {
			c.feed(t, short, 15, min(row.day, 40))
		}
		q := incubation.Question{Now: day(row.day)}
		want, got := short.Estimate(q), whole.Until(day(row.day)).Estimate(q)
		for _, n := range []struct {
			name      string
			got, want float64
		}{
			{"development", got.Development.Fraction, want.Development.Fraction},
			{"male", got.Sex.MaleProbability, want.Sex.MaleProbability},
			{"low", got.Sex.Low, want.Sex.Low},
			{"measured", got.Basis.Measured, want.Basis.Measured},
			{"gap", got.Basis.Gap, want.Basis.Gap},
			{"hatch, days", got.Hatch.Likely.Sub(day0).Hours() / 24, want.Hatch.Likely.Sub(day0).Hours() / 24},
		} {
			if math.Abs(n.got-n.want) > 1e-3 {
				t.Errorf("%s, day %g: %s is %g, of a track fed up to then %g", row.why, row.day, n.name, n.got, n.want)
			}
		}
	}
	if _, recorded := whole.Until(day(0)).Last(); recorded {
		t.Error("before the first reading there is a last one")
	}
}
