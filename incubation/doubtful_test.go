package incubation_test

import (
	"testing"

	"clutchd/incubation"
)

// What a stretch of doubtful readings costs: the same record, told by a probe
// that is in doubt for a week in which sex is set, and by one that is not.
func TestDoubtWidens(t *testing.T) {
	e := leopards()
	estimate := func(q incubation.Quality) incubation.Estimate {
		track := incubation.NewTrack(e, laidAt(day0))
		place := []incubation.Placement{{Probe: "p1", Position: incubation.Substrate, Accuracy: 0.2}}
		var a incubation.Aligner
		take := func(b incubation.Block, ok bool) {
			if !ok {
				return
			}
			piece, ok := incubation.Piece(place, map[string]incubation.Block{"p1": b})
			if !ok {
				t.Fatal("no piece of a block")
			}
			if err := track.Add(piece); err != nil {
				t.Fatal(err)
			}
		}
		for m := 0.0; m < 30*1440; m += 10 {
			r := reading(minute(m), 30.3)
			if d := m / 1440; d >= 14 && d < 21 {
				r.Quality = q
			}
			take(a.Add(r))
		}
		return track.Estimate(incubation.Question{Now: day(30)})
	}
	good := estimate(incubation.Good)
	wide := func(e incubation.Estimate) float64 { return e.Development.High - e.Development.Low }
	before := good
	for _, q := range []incubation.Quality{incubation.Suspect, incubation.Drifting, incubation.Frozen} {
		got := estimate(q)
		if wide(got) <= wide(before) || got.CTE.High-got.CTE.Low <= before.CTE.High-before.CTE.Low {
			t.Errorf("%s: development %.4f to %.4f, CTE %.3f to %.3f: no wider than the one before",
				q, got.Development.Low, got.Development.High, got.CTE.Low, got.CTE.High)
		}
		before = got
	}
	if got := estimate(incubation.Saturated); wide(got) != wide(good) {
		t.Error("condensation widens what the temperature says")
	}
}
