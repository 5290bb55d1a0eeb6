package incubation_test

import (
	"strings"
	"testing"

	"clutchd/incubation"
)

func TestGains(t *testing.T) {
	span := func(low, high, earliest, latest float64) (incubation.Sex, incubation.HatchSpan) {
		return incubation.Sex{Low: low, High: high},
			incubation.HatchSpan{Earliest: day(earliest), Latest: day(latest)}
	}
	var now incubation.Estimate
	now.Sex, now.Hatch = span(0.20, 0.75, 40, 52)
	now.TSP = incubation.TSP{State: incubation.TSPOpen, Opens: day(10), Closes: day(20)}
	without := func(d incubation.Doubt, low, high, earliest, latest float64) incubation.Narrowing {
		n := incubation.Narrowing{Without: d}
		n.Sex, n.Hatch = span(low, high, earliest, latest)
		return n
	}
	for _, row := range []struct {
		sentence string
		edit     func(*incubation.Estimate)
		each     []incubation.Narrowing
		at       incubation.Position
		want     []string // parts of the advice, in order; "": there is none
	}{
		{"nothing would help", nil, []incubation.Narrowing{
			without(incubation.OfProbe, 0.21, 0.74, 40, 51.5),
			without(incubation.OfPlan, 0.20, 0.75, 40, 52),
		}, incubation.BoxAir, nil},
		{"the probe's error moves the sex only", nil, []incubation.Narrowing{
			without(incubation.OfProbe, 0.35, 0.62, 40, 51.5),
		}, incubation.BoxAir, []string{"known exactly, male 20–75 % would be 35–62 %."}},
		{"the day of laying moves the window only", nil, []incubation.Narrowing{
			without(incubation.OfLaying, 0.20, 0.74, 41, 51),
		}, incubation.BoxAir, []string{"known exactly, the hatch window would be 10.0 days long instead of 12.0."}},
		{"both are told, and the best comes first", nil, []incubation.Narrowing{
			without(incubation.OfGaps, 0.22, 0.70, 40, 52),
			without(incubation.OfPosition, 0.35, 0.60, 42, 50),
		}, incubation.IncubatorAir, []string{
			"Lay a probe in the substrate beside the eggs (it helps from now on): measured there all along, male 20–75 % would be " +
				"35–60 % and the hatch window would be 8.0 days long instead of 12.0.",
			"Fill the gaps",
		}},
		{"of four the three best are told", nil, []incubation.Narrowing{
			without(incubation.OfProbe, 0.30, 0.75, 40, 52), without(incubation.OfGaps, 0.31, 0.75, 40, 52),
			without(incubation.OfPlan, 0.32, 0.75, 40, 52), without(incubation.OfLaying, 0.24, 0.75, 40, 52),
		}, incubation.BoxAir, []string{"Measure on", "Fill the gaps", "Calibrate"}},
		{"a probe beside the egg cannot lie better", nil, []incubation.Narrowing{
			without(incubation.OfPosition, 0.35, 0.60, 40, 52),
		}, incubation.Substrate, []string{""}},
		{
			"a closed TSP is not measured again", func(e *incubation.Estimate) { e.TSP.State = incubation.TSPClosed },
			[]incubation.Narrowing{without(incubation.OfPosition, 0.35, 0.60, 40, 52)},
			incubation.BoxAir,
			[]string{"too late for the sex of these"},
		},
		{
			"without a TSP there is no sex to narrow", func(e *incubation.Estimate) { e.TSP = incubation.TSP{} },
			[]incubation.Narrowing{without(incubation.OfProbe, 0.35, 0.60, 40, 52)},
			incubation.BoxAir, nil,
		},
	} {
		from := now
		if row.edit != nil {
			row.edit(&from)
		}
		got := incubation.Gains(from, row.each)
		if len(got) != len(row.want) {
			t.Errorf("%s: %d gains, want %d", row.sentence, len(got), len(row.want))
			continue
		}
		for i, part := range row.want {
			if says := strings.ReplaceAll(got[i].Advice(row.at), "\u00a0", " "); !strings.Contains(says, part) || part == "" && says != "" {
				t.Errorf("%s: %q does not say %q", row.sentence, says, part)
			}
		}
	}
}

// Of a real record: one measured badly near the pivotal temperature has
// something to gain, one measured well far from it has nothing for its sex.
func TestGainsOfARecord(t *testing.T) {
	lie := func(celsius, accuracy float64, at incubation.Position) []incubation.Gain {
		track := incubation.NewTrack(leopards(), incubation.Laying{From: day0, To: day0})
		for b := block(day0, celsius); b.Start.Before(day(25)); b.Start = b.Start.Add(incubation.BlockLength) {
			b.Position, b.Accuracy = at, accuracy
			add(t, track, b)
		}
		q := incubation.Question{Now: day(25)}
		return incubation.Gains(track.Estimate(q), track.Narrowings(q))
	}
	poor := lie(30.2, 1, incubation.BoxAir)
	if len(poor) < 2 || poor[0].Points < 10 {
		t.Errorf("a bad record near the pivotal temperature: %+v", poor)
	}
	for _, g := range poor {
		t.Log(g.Advice(incubation.BoxAir))
	}
	for _, g := range lie(26.5, 0.1, incubation.Substrate) {
		if g.Points > 0 {
			t.Errorf("a good record far from it could be narrowed: %+v", g.Narrowing)
		}
	}
}
