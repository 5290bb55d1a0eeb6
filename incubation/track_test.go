package incubation_test

import (
	"encoding/json"
	"errors"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"clutchd/incubation"
)

// A record fed at once, in pieces, and with estimates asked for in between is
// the same record, bit for bit.
func TestInPiecesAsAtOnce(t *testing.T) {
	c := swinging(29.5)
	once := incubation.NewTrack(leopards(), laidAt(day0))
	pieces := incubation.NewTrack(leopards(), laidAt(day0))
	c.feed(t, once, 0.3125, 14)
	c.feed(t, once, 15, 25)
	c.feed(t, pieces, 0.3125, 3)
	for at := 3.0; at < 14; at++ {
		pieces.Estimate(incubation.Question{Now: day(at + 0.9), Holds: true})
		pieces.Ask(incubation.Question{Now: day(at + 40)})
		c.feed(t, pieces, at, at+1)
	}
	pieces.Estimate(incubation.Question{Now: day(14.7)})
	c.feed(t, pieces, 15, 25)
	for _, q := range []incubation.Question{
		{Now: day(25)},
		{Now: day(26), Holds: true, Unhatched: true},
		{Now: day(25), Plan: []incubation.Step{{From: day(27), Celsius: 32}}},
	} {
		if diff := cmp.Diff(once.Estimate(q), pieces.Estimate(q)); diff != "" {
			t.Errorf("in pieces is not at once (-at once +in pieces):\n%s", diff)
		}
	}
}

func TestRefusedBlocks(t *testing.T) {
	track := constant(28).lay(t, leopards(), 20)
	q := incubation.Question{Now: day(20)}
	before := track.Estimate(q)
	for _, row := range []struct {
		why      string
		b        incubation.Block
		backward bool
	}{
		{"the last block again", block(day(20).Add(-incubation.BlockLength), 28), true},
		{"an earlier block", block(day(3), 20), true},
		{"a block that begins inside the last one", block(day(20).Add(-time.Minute), 20), true},
		{"no number", block(day(20), math.NaN()), false},
		{"no end of heat", block(day(20), math.Inf(1)), false},
		{"no temperature on Earth", block(day(20), 1e6), false},
	} {
		err := track.Add(row.b)
		if err == nil || errors.Is(err, incubation.ErrBackward) != row.backward {
			t.Errorf("%s: error is %v", row.why, err)
		}
		if diff := cmp.Diff(before, track.Estimate(q)); diff != "" {
			t.Errorf("%s changed the track:\n%s", row.why, diff)
		}
	}
	last, ok := track.Last()
	if want := block(day(20).Add(-incubation.BlockLength), 28); !ok || last != want {
		t.Errorf("last block is %v, %v, want %v", last, ok, want)
	}
}

func TestNothingToGoBy(t *testing.T) {
	track := incubation.NewTrack(leopards(), laidAt(day0))
	if last, ok := track.Last(); ok {
		t.Errorf("a new track has a last block: %v", last)
	}
	e := track.Estimate(incubation.Question{Now: day(10), Holds: true})
	if diff := cmp.Diff(incubation.Estimate{Sex: incubation.Sex{Words: "nothing to go by yet"}},
		e); diff != "" {
		t.Errorf("estimate of nothing (-want +got):\n%s", diff)
	}
	// A setpoint alone is something, if not much: nothing of it was measured.
	q := incubation.Question{Now: day(20), Plan: []incubation.Step{{From: day0, Celsius: 28}}}
	e = track.Estimate(q)
	if e.Basis.Measured != 0 || e.Basis.Gap <= 0 {
		t.Errorf("without a reading the estimate rests on %+v", e.Basis)
	}
	read := constant(28).lay(t, leopards(), 20).Estimate(q)
	if e.Development.High-e.Development.Low <= read.Development.High-read.Development.Low {
		t.Errorf("a setpoint is surer of development, %+v, than a record, %+v", e.Development,
			read.Development)
	}
}

// Eggs that were laid some time in a day and a half are somewhere in a day and
// a half of development.
func TestLayingInterval(t *testing.T) {
	seen := constant(28).lay(t, leopards(), 10)
	found := incubation.NewTrack(leopards(), incubation.Laying{From: day(-1.5), To: day0})
	constant(28).feed(t, found, 0, 10)
	q := incubation.Question{Now: day(10)}
	a, b := seen.Estimate(q), found.Estimate(q)
	if b.Development.Fraction <= a.Development.Fraction || b.Hatch.Likely.After(a.Hatch.Likely) {
		t.Errorf("laid earlier, but no further: %+v against %+v", b.Development, a.Development)
	}
	near(t, "median head start, days", a.Hatch.Likely.Sub(b.Hatch.Likely).Hours()/24, 0.75, 0.2)
	spread := func(s incubation.Span) float64 { return s.High - s.Low }
	if spread(b.Development) <= spread(a.Development) {
		t.Errorf("an unsure laying gives no wider development: %+v against %+v", b.Development,
			a.Development)
	}
	// What was read before the eggs were laid is not theirs.
	early := incubation.NewTrack(leopards(), laidAt(day0))
	constant(31).feed(t, early, -3, 0)
	constant(28).feed(t, early, 0, 10)
	if diff := cmp.Diff(a, early.Estimate(q)); diff != "" {
		t.Errorf("readings before the laying count:\n%s", diff)
	}
}

// The longer nothing was read, the less is known, and the basis says so.
func TestGaps(t *testing.T) {
	q := incubation.Question{Now: day(26)}
	width, share := -1.0, -1.0
	for _, row := range []struct {
		why    string
		length float64 // days, from day 15 on
		gap    bool
	}{
		{"no gap", 0, false},
		{"two blocks missing are no gap", 20.0 / 1440, false},
		{"three are", 30.0 / 1440, true},
		{"a night", 0.5, true},
		{"four days", 4, true},
		{"eight days", 8, true},
	} {
		track := constant(30.3).lay(t, leopards(), 15)
		constant(30.3).feed(t, track, 15+row.length, 26)
		e := track.Estimate(q)
		if row.gap != (e.Basis.Gap > 0) {
			t.Errorf("%s: basis is %+v", row.why, e.Basis)
		}
		if got := e.CTE.High - e.CTE.Low; float64(got) < width-0.01 || e.Basis.Gap < share {
			t.Errorf("%s: CTE is known to %.4f K after %.4f, basis %+v", row.why, got, width, e.Basis)
		}
		width, share = float64(e.CTE.High-e.CTE.Low), e.Basis.Gap
		near(t, row.why+": shares of the basis", e.Basis.Measured+e.Basis.Gap+e.Basis.Projected, 1, 1e-12)
	}
	if width < 0.5 {
		t.Errorf("eight days of nothing leave the CTE known to %.2f K", width)
	}
	// A gap is bridged along a line: 28 to 32 over it counts as 30.
	track := constant(28).lay(t, exact(17.5, 28, 53.5), 10)
	constant(32).feed(t, track, 12, 14)
	got := track.Estimate(incubation.Question{Now: day(14)}).Development.Fraction
	near(t, "development over a gap", got, (10*10.5+2*12.5+2*14.5)/(53.5*10.5), 1e-9)
}

// Time since the last reading is a gap too, once it is long.
func TestSilenceUntilNow(t *testing.T) {
	track := constant(30.3).lay(t, leopards(), 15)
	just := track.Estimate(incubation.Question{Now: day(15).Add(20 * time.Minute)})
	long := track.Estimate(incubation.Question{Now: day(17)})
	if just.Basis.Gap != 0 || long.Basis.Gap <= 0.1 {
		t.Errorf("gap is %.3f after 20 minutes and %.3f after two days", just.Basis.Gap, long.Basis.Gap)
	}
	if long.Development.Fraction <= just.Development.Fraction {
		t.Errorf("nothing grows while nothing is read: %+v, %+v", just.Development, long.Development)
	}
}

// How near a probe is to the eggs, and how good it is, decides how much is
// known; two probes know more than one.
func TestProbesMatter(t *testing.T) {
	width := func(b incubation.Block) float64 {
		track := incubation.NewTrack(leopards(), laidAt(day0))
		for b.Start = day0; b.Start.Before(day(35)); b.Start = b.Start.Add(incubation.BlockLength) {
			add(t, track, b)
		}
		e := track.Estimate(incubation.Question{Now: day(35)})
		return float64(e.CTE.High - e.CTE.Low)
	}
	good := block(day0, 30)
	air, around, poor, unknown := good, good, good, good
	air.Position, around.Position = incubation.BoxAir, incubation.IncubatorAir
	poor.Accuracy, unknown.Accuracy = 0.6, 0
	two, ok := incubation.Piece(
		[]incubation.Placement{
			{Probe: "p1", Position: incubation.Substrate, Accuracy: 0.6},
			{Probe: "p2", Position: incubation.Substrate, Accuracy: 0.6},
		},
		map[string]incubation.Block{"p1": good, "p2": good})
	if !ok {
		t.Fatal("two probes make no piece")
	}
	want := func(sds ...float64) float64 { // 5 to 95 % of independent normal errors
		sum := 0.0
		for _, sd := range sds {
			sum += sd * sd
		}
		return 2 * 1.645 * math.Sqrt(sum)
	}
	near(t, "0.2 K in the substrate", width(good), want(0.1, 0.1), 0.03)
	near(t, "0.6 K in the substrate", width(poor), want(0.3, 0.1), 0.05)
	near(t, "two of 0.6 K in the substrate", width(two), want(0.3/math.Sqrt2, 0.1), 0.05)
	near(t, "unknown accuracy", width(unknown), want(0.25, 0.1), 0.05)
	near(t, "0.2 K in the box air", width(air), want(0.1, 0.4), 0.08)
	near(t, "0.2 K around the box", width(around), want(0.1, 0.8), 0.15)
}

// Whatever is recorded, planned and asked, an estimate is made of numbers that
// hold together.
func TestEstimatesHoldTogether(t *testing.T) {
	small := incubation.Draw(leopards().Profile, 60)
	rapid.Check(t, func(r *rapid.T) {
		laid := incubation.Laying{From: day0, To: day(rapid.Float64Range(0, 4).Draw(r, "laying"))}
		track := incubation.NewTrack(small, laid)
		at := float64(rapid.IntRange(-288, 720).Draw(r, "first")) / 144
		for range rapid.IntRange(0, 60).Draw(r, "blocks") {
			b := block(day(at).Round(time.Second), rapid.Float64Range(-20, 60).Draw(r, "celsius"))
			b.Covered = rapid.Float64Range(0, 1).Draw(r, "covered")
			add(t, track, b)
			at += rapid.SampledFrom([]float64{1.0 / 144, 1.0 / 144, 2.0 / 144, 0.5, 3}).Draw(r, "step")
		}
		q := incubation.Question{
			Now:       day(at + rapid.Float64Range(-3, 30).Draw(r, "now")),
			Unhatched: rapid.Bool().Draw(r, "unhatched"), Holds: rapid.Bool().Draw(r, "holds"),
		}
		if rapid.Bool().Draw(r, "alive") {
			q.AliveAt = q.Now.Add(-time.Hour)
		}
		for i := range rapid.IntRange(0, 3).Draw(r, "steps") {
			q.Plan = append(q.Plan, incubation.Step{
				From:    day(at + float64(4*i)),
				Celsius: incubation.Celsius(rapid.Float64Range(10, 45).Draw(r, "plan")),
			})
		}
		a := track.Ask(q)
		sound(r, q, a.Estimate)
		total := 0.0
		for _, p := range incubation.Males([]incubation.Answer{a, a, a}) {
			total += p
		}
		if math.Abs(total-1) > 1e-9 {
			r.Errorf("chances of males add to %v", total)
		}
	})
}

func sound(r *rapid.T, q incubation.Question, e incubation.Estimate) {
	if _, err := json.Marshal(e); err != nil {
		r.Fatalf("not fit for JSON: %v", err)
	}
	ordered := func(what string, values ...float64) {
		for i := 1; i < len(values); i++ {
			if !(values[i-1] <= values[i]) {
				r.Errorf("%s: %v are not in order", what, values)
			}
		}
	}
	ordered("development", 0, e.Development.Low, e.Development.Fraction, e.Development.High, 1)
	ordered("sex", 0, e.Sex.Low, e.Sex.MaleProbability, e.Sex.High, 1)
	ordered("done", 0, e.TSP.Done, 1)
	for _, share := range []float64{e.Basis.Measured, e.Basis.Gap, e.Basis.Projected} {
		ordered("basis", 0, share, 1+1e-12)
	}
	if c := e.CTE; c != nil {
		ordered("CTE", float64(c.Low), float64(c.Value), float64(c.High))
	}
	if h := e.Hatch; !h.Latest.IsZero() && (h.Likely.Before(h.Earliest) || h.Latest.Before(h.Likely)) {
		r.Errorf("hatch window is out of order: %+v", h)
	}
	if q.Unhatched && e.Hatch.Overdue && e.Hatch.Earliest.Before(q.Now) {
		r.Errorf("overdue at %v, and still the window begins at %v", q.Now, e.Hatch.Earliest)
	}
	for _, h := range e.HoldFromNow {
		ordered("hold", 0, h.Low, h.MaleProbability, h.High, 1)
	}
	if q.Holds && e.Sex.Words != "nothing to go by yet" && len(e.HoldFromNow) != 17 {
		r.Errorf("%d temperatures to hold from now, want 17", len(e.HoldFromNow))
	}
}
