package incubation_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"clutchd/incubation"
)

// The order in which two probes' records come in is no matter: aligned each
// for itself, put together by step and pieced in order of time, as the daemon
// replays them, they are one track. In which order a step's readings came, and
// its probes were placed, costs the last digits of a sum.
func TestOrderOfRecordsIsNoMatter(t *testing.T) {
	e, q := few(), incubation.Question{Now: day(21)}
	nearly := cmp.Options{
		closeEnough,
		cmp.Comparer(func(a, b incubation.Celsius) bool { return math.Abs(float64(a-b)) < 1e-9 }),
		cmpopts.EquateApproxTime(time.Minute),
	}
	for seed := range uint64(8) {
		rng := rand.New(rand.NewPCG(seed, 1))
		readings := twoProbes(wandering(27, 32, seed), rng)
		tell := func(placed []string, arrive func([]incubation.Block)) incubation.Estimate {
			return pieceTogether(t, e, readings, placed, arrive).Estimate(q)
		}
		want := tell([]string{"p1", "p2"}, func([]incubation.Block) {}) // one probe, then the other
		mixed := tell([]string{"p1", "p2"}, func(blocks []incubation.Block) {
			rng.Shuffle(len(blocks), func(i, j int) { blocks[i], blocks[j] = blocks[j], blocks[i] })
		})
		if diff := cmp.Diff(want, mixed); diff != "" {
			t.Errorf("%d: another order of blocks is another track:\n%s", seed, diff)
		}
		for _, of := range readings {
			shuffleSteps(of, rng)
		}
		within := tell([]string{"p2", "p1"}, slices.Reverse[[]incubation.Block])
		if diff := cmp.Diff(want, within, nearly); diff != "" {
			t.Errorf("%d: another order within steps is another track:\n%s", seed, diff)
		}
		if want.Basis.Gap <= 0 {
			t.Errorf("%d: nothing is missing of the record: %+v", seed, want.Basis)
		}
	}
}

// twoProbes are twenty days of readings of a curve, each probe with silences
// of its own, and once both.
func twoProbes(c curve, rng *rand.Rand) map[string][]incubation.Reading {
	out := map[string][]incubation.Reading{}
	for at := day0; at.Before(day(20)); at = at.Add(4 * time.Minute) {
		d := at.Sub(day0).Hours() / 24
		for k, probe := range []string{"p1", "p2"} {
			if math.Mod(d+2*float64(k), 5) < 0.4 || d > 14 && d < 15 {
				continue
			}
			x := reading(at, c(d)+0.1*rng.NormFloat64())
			x.Probe = probe
			out[probe] = append(out[probe], x)
		}
	}
	return out
}

// pieceTogether does as the daemon does when it replays: blocks by probe, in
// the order that arrive makes of them, kept by step, pieced in order of time.
func pieceTogether(
	t testing.TB, e *incubation.Ensemble, readings map[string][]incubation.Reading, placed []string,
	arrive func([]incubation.Block),
) *incubation.Track {
	var all []incubation.Block
	var sources []incubation.Placement
	for _, probe := range placed {
		aligner := incubation.Aligner{Accuracy: 0.2}
		for _, x := range readings[probe] {
			if b, ok := aligner.Add(x); ok {
				all = append(all, b)
			}
		}
		sources = append(sources, incubation.Placement{
			Probe: probe, Position: incubation.Substrate, Accuracy: 0.2,
		})
	}
	arrive(all)
	said := map[time.Time]map[string]incubation.Block{}
	var steps []time.Time
	for _, b := range all {
		if said[b.Start] == nil {
			said[b.Start] = map[string]incubation.Block{}
			steps = append(steps, b.Start)
		}
		said[b.Start][b.Probe] = b
	}
	slices.SortFunc(steps, time.Time.Compare)
	track := incubation.NewTrack(e, laidAt(day0))
	for _, step := range steps {
		if b, ok := incubation.Piece(sources, said[step]); ok {
			add(t, track, b)
		}
	}
	return track
}

// shuffleSteps puts the readings of each step into another order.
func shuffleSteps(readings []incubation.Reading, rng *rand.Rand) {
	for from := 0; from < len(readings); {
		step := readings[from].Time.Truncate(incubation.BlockLength)
		to := from
		for to < len(readings) && readings[to].Time.Truncate(incubation.BlockLength).Equal(step) {
			to++
		}
		rest := readings[from:to]
		rng.Shuffle(len(rest), func(i, j int) { rest[i], rest[j] = rest[j], rest[i] })
		from = to
	}
}
