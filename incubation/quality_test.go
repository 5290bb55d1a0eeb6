package incubation_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

func TestQualityWords(t *testing.T) {
	want := []string{
		"good", "saturated", "suspect", "frozen", "jumped", "spiked", "drifting", "disagreeing",
		"slipped", "swapped",
	}
	var got []string
	for _, q := range incubation.Qualities() {
		got = append(got, q.String())
		var back incubation.Quality
		if err := back.UnmarshalText([]byte(q.String())); err != nil || back != q {
			t.Errorf("%q reads back as %v, %v", q, back, err)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the order is stored (-want +got):\n%s", diff)
	}
	var none incubation.Quality
	if err := none.UnmarshalText([]byte("superb")); err == nil || none != incubation.Good {
		t.Errorf("superb reads as %v, %v", none, err)
	}
}

func TestDoubtful(t *testing.T) {
	for _, row := range []struct {
		why              string
		q                incubation.Quality
		doubtful, broken bool
	}{
		{"a good reading is in no doubt", incubation.Good, false, false},
		{"condensation says nothing against the temperature", incubation.Saturated, false, false},
		{"a suspect one counts less", incubation.Suspect, true, false},
		{"a drifting probe still follows its place", incubation.Drifting, true, false},
		{"of two that disagree one is right", incubation.Disagreeing, true, false},
		{"a swapped probe measures the box beside", incubation.Swapped, true, false},
		{"a frozen value is no measurement any more", incubation.Frozen, true, true},
		{"nor is one that jumped", incubation.Jumped, true, true},
		{"nor a spike", incubation.Spiked, true, true},
		{"a slipped probe lies somewhere else", incubation.Slipped, true, true},
		{"a quality of a later version is not taken for good", 63, true, true},
	} {
		if row.q.Doubtful() != row.doubtful || row.q.Broken() != row.broken {
			t.Errorf("%s: doubtful %v, broken %v", row.why, row.q.Doubtful(), row.q.Broken())
		}
	}
}

// of gives a reading in that quality.
func of(q incubation.Quality, m, celsius float64) incubation.Reading {
	r := reading(minute(m), celsius)
	r.Quality = q
	return r
}

func TestAlignerDoubts(t *testing.T) {
	for _, row := range []struct {
		why      string
		readings []incubation.Reading
		celsius  incubation.Celsius
		doubt    float64
	}{
		{
			"a spike does not enter the mean beside good readings",
			[]incubation.Reading{of(incubation.Good, 0, 28), of(incubation.Spiked, 3, 60)},
			28, 0,
		},
		{
			"nor beside one that is only suspect",
			[]incubation.Reading{of(incubation.Frozen, 0, 31), of(incubation.Suspect, 3, 28)},
			28, 0.5,
		},
		{
			"a drifting reading counts a quarter of a good one",
			[]incubation.Reading{of(incubation.Good, 0, 28), of(incubation.Drifting, 3, 30)},
			28.4, 0,
		},
		{
			"only doubtful ones are used, as far off as the worst may be",
			[]incubation.Reading{of(incubation.Suspect, 0, 28), of(incubation.Drifting, 3, 30)},
			29, 1,
		},
		{
			"only frozen ones are used too",
			[]incubation.Reading{of(incubation.Frozen, 0, 28), of(incubation.Frozen, 3, 28)},
			28, 2,
		},
	} {
		var a incubation.Aligner
		a.Limits.High.Value = 35
		for _, r := range row.readings {
			a.Add(r)
		}
		b, ok := a.Close(minute(10))
		if !ok || b.Celsius != row.celsius || b.Doubt != row.doubt || b.Hot.Minutes != 0 {
			t.Errorf("%s: %+v, %v", row.why, b, ok)
		}
	}
}

func TestPieceDoubts(t *testing.T) {
	said := func(probe string, celsius, doubt float64) incubation.Block {
		return incubation.Block{
			Start: day0, Probe: probe, Celsius: incubation.Celsius(celsius), Covered: 1,
			Accuracy: 0.3, Doubt: doubt,
		}
	}
	at := func(probe string, p incubation.Position) incubation.Placement {
		return incubation.Placement{Probe: probe, Position: p}
	}
	near, twin := at("near", incubation.BoxAir), at("twin", incubation.BoxAir)
	far := at("far", incubation.IncubatorAir)
	for _, row := range []struct {
		why     string
		sources []incubation.Placement
		blocks  []incubation.Block
		probe   string
		within  float64 // the accuracy
	}{
		{
			"a good twin is heard alone beside a doubtful one",
			[]incubation.Placement{near, twin},
			[]incubation.Block{said("near", 29, 1), said("twin", 28, 0)},
			"twin", 0.3,
		},
		{
			"a drifting probe in the box is nearer the eggs than the air outside",
			[]incubation.Placement{near, far},
			[]incubation.Block{said("near", 29, 1), said("far", 28, 0)},
			"near", 1.0440306508910551,
		},
		{
			"the air outside says more than a frozen probe in the box",
			[]incubation.Placement{near, far},
			[]incubation.Block{said("near", 29, 2), said("far", 28, 0)},
			"far", 0.3,
		},
		{
			"a frozen probe is better than none, and wide",
			[]incubation.Placement{near, far},
			[]incubation.Block{said("near", 29, 2)},
			"near", 2.0223748416156684,
		},
	} {
		blocks := map[string]incubation.Block{}
		for _, b := range row.blocks {
			blocks[b.Probe] = b
		}
		b, ok := incubation.Piece(row.sources, blocks)
		if !ok || b.Probe != row.probe || b.Accuracy != row.within {
			t.Errorf("%s: %+v, %v", row.why, b, ok)
		}
	}
}
