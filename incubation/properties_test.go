package incubation_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// wandering is a record that goes its own way between two temperatures: a walk
// by the hour with what a thermostat adds.
func wandering(low, high float64, seed uint64) curve {
	rng := rand.New(rand.NewPCG(seed, 7))
	hours := make([]float64, 24*60)
	at := low + rng.Float64()*(high-low)
	for i := range hours {
		hours[i] = at
		at = min(max(at+0.4*rng.NormFloat64(), low), high)
	}
	return func(d float64) float64 { return hours[min(int(d*24), len(hours)-1)] }
}

// few is an ensemble for properties that hold member by member.
func few() *incubation.Ensemble { return species.Ensemble(60) }

// Below the fastest temperature a record that is warmer at every step, by an
// amount that changes as it likes, never hatches later nor has developed less:
// it holds for each member, and so without a tolerance for every interval.
func TestWarmerRecordsNeverHatchLater(t *testing.T) {
	e := few()
	rapid.Check(t, func(r *rapid.T) {
		cool := wandering(20, 30, rapid.Uint64().Draw(r, "record"))
		more := wandering(0, rapid.Float64Range(0, 1.2).Draw(r, "at most"), rapid.Uint64().Draw(r, "more"))
		until := float64(rapid.IntRange(8, 30).Draw(r, "days"))
		neverLater(r, e, laidAt(day0), until, 0, 0, cool, func(d float64) float64 { return cool(d) + more(d) })
	})
}

// With gaps, before the first reading too, it holds for an amount that stays:
// one that changes makes the place look as if it wandered more, and a member
// that holds a gap to have been cool holds it cooler then, rightly.
func TestSteadilyWarmerRecordsWithGapsNeverHatchLater(t *testing.T) {
	e := few()
	// What a member makes of a gap must stay below its fastest temperature too,
	// which is 33 °C at least: beyond it warmer is slower.
	e.Profile.Record.GapMost = just(0.5)
	rapid.Check(t, func(r *rapid.T) {
		cool := wandering(20, 30, rapid.Uint64().Draw(r, "record"))
		more := float64(rapid.IntRange(1, 120).Draw(r, "hundredths of a kelvin")) / 100
		until := float64(rapid.IntRange(8, 30).Draw(r, "days"))
		from := rapid.Float64Range(1, 20).Draw(r, "gap from")
		length := rapid.Float64Range(0, 2).Draw(r, "gap of")
		laid := incubation.Laying{From: day(-0.5), To: day0}
		neverLater(r, e, laid, until, from, length, cool, func(d float64) float64 { return cool(d) + more })
	})
}

// neverLater holds an estimate of a warmer record against that of a cooler one.
func neverLater(r rapid.TB, e *incubation.Ensemble, laid incubation.Laying, until, from, length float64, cool, warm curve) {
	ask := func(c curve) incubation.Estimate {
		track := incubation.NewTrack(e, laid)
		gapped(r, track, c, until, from, length)
		return track.Estimate(incubation.Question{Now: day(until)})
	}
	a, b := ask(cool), ask(warm)
	for _, x := range [][2]time.Time{
		{a.Hatch.Earliest, b.Hatch.Earliest},
		{a.Hatch.Likely, b.Hatch.Likely},
		{a.Hatch.Latest, b.Hatch.Latest},
		{a.TSP.Opens, b.TSP.Opens},
		{a.TSP.Closes, b.TSP.Closes},
	} {
		if !x[0].IsZero() && (x[1].IsZero() || x[1].After(x[0])) {
			r.Errorf("warmer comes at %v, cooler at %v", x[1], x[0])
		}
	}
	if b.Development.Fraction < a.Development.Fraction || b.Development.Low < a.Development.Low ||
		b.Development.High < a.Development.High {
		r.Errorf("warmer has developed %+v, cooler %+v", b.Development, a.Development)
	}
}

// gapped feeds a curve but for a gap, on the block grid.
func gapped(r rapid.TB, track *incubation.Track, c curve, until, from, length float64) {
	for at := day0; at.Before(day(until)); at = at.Add(incubation.BlockLength) {
		d := at.Add(incubation.BlockLength/2).Sub(day0).Hours() / 24
		if d >= from && d < from+length {
			continue
		}
		if err := track.Add(block(at, c(d))); err != nil {
			r.Fatal(err)
		}
	}
}

// spans are the widths of an estimate: development, CTE in K, hatch in days.
func spans(e incubation.Estimate) [3]float64 {
	return [3]float64{
		e.Development.High - e.Development.Low,
		float64(e.CTE.High - e.CTE.Low),
		e.Hatch.Latest.Sub(e.Hatch.Earliest).Hours() / 24,
	}
}

// A gap never narrows an interval: of development, of the CTE or of the hatch.
//
// What is drawn for a gap is independent of all else only in the limit: with n
// members the two correlate by about 1/√n by chance, 0.06 of 300, and where
// that is against the rest a width shrinks by as much of the gap's part; and a
// 5 % point of 300 values is one of them. So a single record may come out
// narrower by a few hundredths; the mean over the records may not, by more
// than one. The record is steady: a line across a gap in one that wandered
// would be another record, not the same one known less well.
func TestGapsNeverNarrow(t *testing.T) {
	const single, together = 0.06, 0.01
	names := [3]string{"development", "CTE", "hatch window"}
	records := 24
	if testing.Short() || raced {
		records = 6
	}
	rng := rand.New(rand.NewPCG(5, 5))
	var sum [3]float64
	for i := range records {
		c, until := swinging(27+5*rng.Float64()), 30.0
		from, length := 1+26*rng.Float64(), 0.05+3*rng.Float64()
		ask := func(length float64) [3]float64 {
			track := incubation.NewTrack(judges(), laidAt(day0))
			gapped(t, track, c, until, from, length)
			return spans(track.Estimate(incubation.Question{Now: day(until)}))
		}
		whole, gap := ask(0), ask(length)
		for k := range names {
			ratio := gap[k] / whole[k]
			sum[k] += ratio / float64(records)
			if ratio < 1-single {
				t.Errorf("record %d, gap of %.1f d from day %.1f: %s is %.4f wide, %.4f without the gap",
					i, length, from, names[k], gap[k], whole[k])
			}
		}
	}
	for k, mean := range sum {
		t.Logf("%s: %.3f times as wide with a gap, mean of %d records", names[k], mean, records)
		if mean < 1-together {
			t.Errorf("%s: gaps narrow it to %.3f of its width, mean of %d records", names[k], mean, records)
		}
	}
}

// As blocks arrive the measured share never shrinks, whatever was read and
// missed, nor does what is projected grow, or the share of gaps shrink; but for
// this: how far a place may have wandered in a gap is learned from all of its
// record, so that what members make of a gap, and with it where in the record
// the TSP lies, is seen anew with each block. A thousand random records had
// that move a share by 1.4e-5 at most.
func TestBasisOnlyGrows(t *testing.T) {
	e := few()
	rapid.Check(t, func(r *rapid.T) {
		c := wandering(18, 35, rapid.Uint64().Draw(r, "record"))
		track := incubation.NewTrack(e, incubation.Laying{From: day(-0.7), To: day0})
		last := incubation.Basis{Projected: 1}
		at := day0
		for range rapid.IntRange(1, 25).Draw(r, "stretches") {
			if rapid.IntRange(0, 3).Draw(r, "gap") == 0 {
				at = at.Add(time.Duration(rapid.IntRange(1, 300).Draw(r, "missing")) * incubation.BlockLength)
			}
			for range rapid.IntRange(1, 300).Draw(r, "blocks") {
				b := block(at, c(at.Sub(day0).Hours()/24))
				b.Covered = rapid.SampledFrom([]float64{1, 1, 1, 0.4}).Draw(r, "covered")
				if err := track.Add(b); err != nil {
					r.Fatal(err)
				}
				at = b.End()
			}
			now := track.Estimate(incubation.Question{Now: at}).Basis
			const learned = 1e-4
			if now.Measured < last.Measured-learned || now.Gap < last.Gap-learned ||
				now.Projected > last.Projected+learned {
				r.Fatalf("basis went from %+v to %+v", last, now)
			}
			last = now
		}
	})
}
