package incubation_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

// Each doubt, put aside, narrows what rests on it and widens nothing.
func TestNarrowings(t *testing.T) {
	found := incubation.Laying{From: day(-2), To: day0}
	poor := func(from, to float64, track *incubation.Track) {
		for b := block(day(from), 30.2); b.Start.Before(day(to)); b.Start = b.Start.Add(incubation.BlockLength) {
			b.Position, b.Accuracy = incubation.BoxAir, 1
			add(t, track, b)
		}
	}
	// A room that hardly keeps to its plans, so that each doubt stands out from
	// what a thousand members leave of noise.
	e := *leopards()
	e.Profile.Record.Plan = just(1)
	track := incubation.NewTrack(&e, found)
	poor(0, 12, track)
	poor(15, 20, track)
	q := incubation.Question{Now: day(20)}
	whole := track.Estimate(q)
	width := func(s incubation.Sex) float64 { return s.High - s.Low }
	window := func(h incubation.HatchSpan) float64 { return h.Latest.Sub(h.Earliest).Hours() / 24 }
	for _, row := range []struct {
		without    incubation.Doubt
		sex, hatch bool // grows narrower by more than rounding
	}{
		{incubation.OfProbe, true, true},
		{incubation.OfPosition, true, true},
		{incubation.OfGaps, false, false},
		{incubation.OfPlan, false, true},
		{incubation.OfLaying, false, true},
	} {
		var got *incubation.Narrowing
		for _, n := range track.Narrowings(q) {
			if n.Without == row.without {
				got = &n
			}
		}
		if got == nil {
			t.Fatalf("no answer without %s", row.without)
		}
		sex, hatch := width(whole.Sex)-width(got.Sex), window(whole.Hatch)-window(got.Hatch)
		t.Logf("without %s: sex narrower by %.3f, window by %.2f d", row.without, sex, hatch)
		if row.sex && sex < 0.02 || row.hatch && hatch < 0.05 {
			t.Errorf("without %s: sex narrower by %.3f, window by %.2f d", row.without, sex, hatch)
		}
		// A thousand members place an end of an interval to about a
		// hundredth, which is what a doubt that weighs nothing may seem to do.
		if sex < -0.03 || hatch < -0.3 {
			t.Errorf("without %s: wider: sex by %.3f, window by %.2f d", row.without, -sex, -hatch)
		}
	}
	if diff := cmp.Diff(whole, track.Estimate(q)); diff != "" {
		t.Errorf("asking what would narrow it changed the track:\n%s", diff)
	}
}

// A frozen track stays what it was while the track goes on.
func TestFreeze(t *testing.T) {
	track := constant(30).lay(t, leopards(), 15.3)
	q := incubation.Question{Now: day(16)}
	frozen, before := track.Freeze(), track.Estimate(q)
	constant(25).feed(t, track, 15.5, 30)
	if diff := cmp.Diff(before, frozen.Estimate(q)); diff != "" {
		t.Errorf("the frozen track changed (-before +after):\n%s", diff)
	}
}
