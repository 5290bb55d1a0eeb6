package review_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// An excursion of these tables: hours after the eggs were found, seconds, and
// the rules crossed, nearest first.
type outside struct {
	from, seconds float64
	worst         incubation.Celsius
	rules         []string
	sources       []review.Source
	brief         bool
	settling      bool
}

// The setpoint is 31 °C: too warm from 32.5 on and over at 32.3, cooling
// below 29 and over at 29.2, runaway from 34.5 on. All worked by hand.
func TestExcursions(t *testing.T) {
	start := []review.Source{review.Start}
	for _, row := range []struct {
		why   string
		trace trace
		book  func(*diary)
		want  []outside
	}{
		{"nothing happened", steady(31), nil, nil},
		{
			"25 minutes too warm, told from the first reading beyond to the first one back",
			steady(31).but(30, 25, 33), nil,
			[]outside{{30, 1500, 33, []string{"too-warm"}, start, false, false}},
		},
		{
			"exactly at the upper limit is beyond it",
			steady(31).but(30, 25, 32.5), nil,
			[]outside{{30, 1500, 32.5, []string{"too-warm"}, start, false, false}},
		},
		{
			"exactly at the lower limit is not", steady(31).but(30, 25, 29), nil, nil,
		},
		{
			"inside the deadband it is not over yet: 25 minutes beyond and 10 within a fifth of a kelvin",
			steady(31).but(30, 25, 33).but(30+25.0/60, 10, 32.4), nil,
			[]outside{{30, 2100, 33, []string{"too-warm"}, start, false, false}},
		},
		{
			"five minutes are shorter than the rule waits: brief",
			steady(31).but(30, 5, 33), nil,
			[]outside{{30, 300, 33, []string{"too-warm"}, start, true, false}},
		},
		{
			"deadly heat within too much of it is one excursion, both limits in it",
			steady(31).but(30, 40, 33).but(30.25, 12, 35.2), nil,
			[]outside{{30, 2400, 35.2, []string{"too-warm", "runaway-heat"}, []review.Source{review.Start, review.Start}, false, false}},
		},
		{
			"cool and warm are two",
			steady(31).but(30, 60, 28).but(40, 30, 33), nil,
			[]outside{
				{30, 3600, 28, []string{"too-cool"}, start, false, false},
				{40, 1800, 33, []string{"too-warm"}, start, false, false},
			},
		},
		{
			"a gap ends it at the last reading before: 20 minutes of 60",
			steady(31).but(30, 60, 33).silent(30+20.0/60, 180), nil,
			[]outside{{30, 19 * 60, 33, []string{"too-warm"}, start, false, false}},
		},
		{
			"the hour the eggs came into the box it was cool: it was settling",
			steady(31).but(1, 60, 28), nil,
			[]outside{{1, 3600, 28, []string{"too-cool"}, start, false, true}},
		},
		{
			"a limit of the box's own, three kelvin over the setpoint, held from hour 20 on",
			steady(31).but(10, 30, 33).but(30, 30, 33),
			func(d *diary) {
				d.write(on(20), book.KindLimits, book.LimitsData{Place: "box-1", OverSetpointKelvin: ptr(3.0)})
			},
			[]outside{{10, 1800, 33, []string{"too-warm"}, start, false, false}},
		},
		{
			"a limit of the cabinet's own counts where the box has none",
			steady(31).but(30, 30, 32.2),
			func(d *diary) {
				d.write(on(20), book.KindLimits, book.LimitsData{Place: "warm", HighCelsius: ptr(incubation.Celsius(32))})
			},
			[]outside{{30, 1800, 32.2, []string{"above-limit"}, []review.Source{review.Own}, false, false}},
		},
		{
			"limits that were taken back never held",
			steady(31).but(30, 30, 32.2),
			func(d *diary) {
				d.write(on(20), book.KindLimits, book.LimitsData{Place: "warm", HighCelsius: ptr(incubation.Celsius(32))})
				d.write(on(21), book.KindVoid, book.VoidData{Entry: uint64(len(d.entries))})
			},
			nil,
		},
		{
			"the thermostat was set down meanwhile: what was right before is too warm, up to the last reading",
			steady(31).but(30, 240, 31),
			func(d *diary) { d.write(on(30), book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 29}) },
			[]outside{{30, 30*3600 - 60, 31, []string{"too-warm"}, start, false, true}},
		},
	} {
		d := begun(t)
		if row.book != nil {
			row.book(d)
		}
		r := of(t, d, 60, map[string]trace{"in-box": row.trace})
		var got []outside
		for _, e := range r.Records[0].Excursions {
			o := outside{
				from: e.From.Sub(found).Hours(), seconds: e.Seconds, worst: e.Worst, brief: e.Brief, settling: e.Settling,
			}
			for _, c := range e.Limits {
				o.rules, o.sources = append(o.rules, c.Rule), append(o.sources, c.Source)
			}
			got = append(got, o)
		}
		if diff := cmp.Diff(row.want, got, cmp.AllowUnexported(outside{})); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.why, diff)
		}
	}
}

func ptr[T any](v T) *T { return &v }

// Gaps are what no probe speaks for; a farther probe closes them, and counts
// then alone.
func TestGapsAndWhatCounts(t *testing.T) {
	type span struct{ from, to float64 }
	for _, row := range []struct {
		why           string
		box, air      trace
		gaps          []span // hours after the find
		airCounts     float64
		lowest        incubation.Celsius
		doubtfulHours float64
	}{
		{"both speak: the air does not count", steady(31), steady(25), nil, 0, 31, 0},
		{
			"the box is silent for three hours and the air speaks: no gap, and it counts from the last reading on",
			steady(31).silent(30, 180), steady(30), nil, 3 + 1.0/60, 30, 0,
		},
		{
			"both are silent: a gap from the last reading to the next",
			steady(31).silent(30, 180), steady(30).silent(30, 180),
			[]span{{30 - 1.0/60, 33}},
			0, 31, 0,
		},
		{
			"four minutes are no gap", steady(31).silent(30, 4), nil, nil, 0, 31, 0,
		},
		{
			"a frozen probe stands back behind the air",
			steady(31).frozen(30, 180, 20), steady(30), nil, 3 + 1.0/60, 30, 0,
		},
		{
			"where only a frozen probe speaks it counts, and that is told",
			steady(31).frozen(30, 180, 30.5), nil, nil, 0, 30.5, 3 + 1.0/60,
		},
	} {
		traces := map[string]trace{"in-box": row.box}
		if row.air != nil {
			traces["in-air"] = row.air
		}
		r := of(t, begun(t), 60, traces).Records[0]
		var gaps []span
		for _, g := range r.Gaps {
			if g.To.After(on(2)) { // before they came into the box nothing was read
				gaps = append(gaps, span{g.From.Sub(found).Hours(), g.To.Sub(found).Hours()})
			}
		}
		if diff := cmp.Diff(row.gaps, gaps, cmp.AllowUnexported(span{}), near()); diff != "" {
			t.Errorf("%s: gaps (-want +got):\n%s", row.why, diff)
		}
		air := 0.0
		for _, p := range r.Probes {
			if p.Probe == "in-air" {
				air += p.CountedSeconds() / 3600
			}
		}
		if diff := cmp.Diff(row.airCounts, air, near()); diff != "" {
			t.Errorf("%s: hours that the air counts (-want +got):\n%s", row.why, diff)
		}
		if r.Lowest == nil || *r.Lowest != row.lowest {
			t.Errorf("%s: the lowest that counts is %v, want %v", row.why, deref(r.Lowest), row.lowest)
		}
		if diff := cmp.Diff(row.doubtfulHours, r.Doubtful/3600, near()); diff != "" {
			t.Errorf("%s: doubtful hours (-want +got):\n%s", row.why, diff)
		}
	}
}

func near() cmp.Option {
	return cmp.Comparer(func(a, b float64) bool { return a-b < 1e-6 && b-a < 1e-6 })
}

func deref(c *incubation.Celsius) incubation.Celsius {
	if c == nil {
		return -99
	}
	return *c
}

// Every move of egg, box and probe is told, with how the probe was corrected.
func TestStaysAndProbes(t *testing.T) {
	d := begun(t)
	d.write(on(20), book.KindCalibrated, book.CalibratedData{
		Probe: "in-box", Method: incubation.IcePoint, Celsius: []incubation.CalibrationPoint{{Read: -0.3, True: 0}},
	})
	d.write(on(30), book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-2"})
	d.write(on(40), book.KindStand, book.StandData{Place: "box-2", In: ""})
	r := of(t, d, 60, map[string]trace{"in-box": steady(31), "in-air": steady(30)})
	if len(r.Records) != 2 {
		t.Fatalf("two eggs that lay apart have %d records", len(r.Records))
	}
	type row struct {
		what, where string
		from        float64
		calibrated  bool
	}
	var got []row
	for _, k := range r.Records {
		for _, s := range k.Stays {
			got = append(got, row{s.BoxName, s.IncubatorName, s.From.Sub(found).Hours(), false})
		}
		for _, p := range k.Probes {
			got = append(got, row{p.Probe, string(p.Position), p.From.Sub(found).Hours(), p.Calibrated})
		}
	}
	want := []row{
		{"Lay box", "", -24, false}, // laid at the earliest
		{"Box 1", "Warm", 1, false},
		{"in-box", "substrate", 1, false},
		{"in-air", "incubator-air", 1, false},
		{"in-box", "substrate", 20, true},
		{"Lay box", "", -24, false},
		{"Box 1", "Warm", 1, false},
		{"Box 2", "Warm", 30, false},
		{"Box 2", "", 40, false},
		{"in-box", "substrate", 1, false},
		{"in-air", "incubator-air", 1, false},
		{"in-box", "substrate", 20, true},
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(row{}), near()); diff != "" {
		t.Errorf("stays and probes (-want +got):\n%s", diff)
	}
	if end := r.Records[1].Probes[2].To; !end.Equal(on(30)) {
		t.Errorf("the probe lay beside egg B until %v, want until it was moved", end)
	}
	for _, k := range r.Records {
		if _, err := time.Parse(time.RFC3339, k.From.Format(time.RFC3339)); err != nil || k.From.Location() != time.UTC {
			t.Errorf("a record begins at %v: not in UTC", k.From)
		}
	}
}
