package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/learn"
	"clutchd/incubation/species"
)

// day0 is when the first eggs of these tests were laid.
var day0 = time.Date(2025, 1, 10, 21, 0, 0, 0, time.UTC)

func day(d float64) time.Time { return day0.Add(time.Duration(d * 24 * float64(time.Hour))) }

// A keeper is a made-up room of which the truth is known: how its eggs grow
// and sex, and how far its one thermometer is off.
type keeper struct {
	truth incubation.Member
	eggSD float64
	off   float64 // the egg's temperature less the thermometer's, K
	rng   *rand.Rand
}

// newKeeper gives one whose eggs are of a member of the ensemble.
func newKeeper(e *incubation.Ensemble, seed uint64, off float64) *keeper {
	rng := rand.New(rand.NewPCG(seed, 11))
	return &keeper{
		truth: e.Members[rng.IntN(len(e.Members))], eggSD: e.Profile.Development.EggSpread.Value,
		off: off, rng: rng,
	}
}

// read is what the thermometer shows in the box at a time: a thermostat's
// swing about the dial, and a slow drift of its own in each clutch.
func read(dial, phase, at float64) float64 {
	return dial + 0.2*math.Sin(2*math.Pi*(at*18+phase)) + 0.15*math.Sin(2*math.Pi*(at+phase))
}

// clutch lets two eggs be laid on a day and lie at a dial until they hatch,
// and gives what the book has of them. chance is the true one of a male.
func (k *keeper) clutch(e *incubation.Ensemble, id string, laid, dial float64) (c learn.Clutch, chance, hatch float64) {
	phase := k.rng.Float64()
	egg := incubation.NewTrack(e, incubation.Laying{From: day(laid - 0.5), To: day(laid)})
	// What really happened: the middle of the laying, the egg's own warmth.
	const step = 1.0 / 144
	grown, weight, sum := 0.0, 0.0, 0.0
	need := 1 + k.eggSD*k.rng.NormFloat64()
	start := math.Ceil(laid*144) / 144
	at := laid - 0.25
	for ; grown < need; at += step {
		c := read(dial, phase, at) + k.off
		rate := k.truth.Rate(c)
		if grown >= k.truth.Start && grown < k.truth.End {
			weight += rate
			sum += rate * c
		}
		grown += rate * step
	}
	chance = k.truth.Chance(sum / weight)
	hatch = at
	found := math.Ceil((hatch-0.4)*2)/2 + 0.4 // looked at twice a day
	for t := start; t+step < found; t += step {
		err := egg.Add(incubation.Block{
			Start: day(t).Round(time.Minute).Truncate(incubation.BlockLength), Celsius: incubation.Celsius(read(dial, phase, t+step/2)),
			Covered: 1, Probe: "p1", Position: incubation.Substrate, Accuracy: 0.5,
		})
		if err != nil {
			panic(err)
		}
	}
	c.ID = id
	leaning := k.rng.NormFloat64()
	for range 2 {
		sex := incubation.Female
		if k.male(chance, leaning) {
			sex = incubation.Male
		}
		c.Eggs = append(c.Eggs, learn.Outcome{
			Egg: id, Track: egg, After: day(found - 0.5), By: day(found), Sex: sex, Wrong: learn.WrongByAnatomy,
		})
	}
	return c, chance, hatch - laid
}

// male draws an egg's sex, siblings leaning together.
func (k *keeper) male(chance, leaning float64) bool {
	limit := math.Sqrt2 * math.Erfinv(2*chance-1)
	r := k.truth.Clutch
	return math.Sqrt(r)*leaning+math.Sqrt(1-r)*k.rng.NormFloat64() < limit
}

// season is so many clutches, one every three days.
func (k *keeper) season(e *incubation.Ensemble, n int) []learn.Clutch {
	var out []learn.Clutch
	for i := range n {
		c, _, _ := k.clutch(e, fmt.Sprint(i), float64(3*i), []float64{28, 30, 31.5}[i%3])
		out = append(out, c)
	}
	return out
}

// A score is how well eggs to come are foretold: lower is better.
type score struct{ hatch, sex, width, covered, n float64 }

// against holds what an ensemble says of a clutch against what came.
func (s *score) against(e *incubation.Ensemble, c learn.Clutch, chance, hatch float64) {
	o := c.Eggs[0]
	a := o.Track.Under(e).Ask(incubation.Question{Now: o.By})
	laid := o.Track.Laying().To
	likely := a.Hatch.Likely.Sub(laid).Hours() / 24
	early, late := a.Hatch.Earliest.Sub(laid).Hours()/24, a.Hatch.Latest.Sub(laid).Hours()/24
	s.hatch += math.Abs(likely - hatch)
	s.width += late - early
	if early <= hatch && hatch <= late {
		s.covered++
	}
	s.sex += (a.Sex.MaleProbability - chance) * (a.Sex.MaleProbability - chance)
	s.n++
}

func (s score) String() string {
	return fmt.Sprintf("hatch off by %.2f d, window %.1f d, covered %.0f %%, sex off by %.3f (rms)",
		s.hatch/s.n, s.width/s.n, 100*s.covered/s.n, math.Sqrt(s.sex/s.n))
}

// tolerable is how far a chance of a male may be off, root of the mean square,
// however good the guess was before: a thermometer that is right is guessed
// right to begin with, and forty eggs cannot but pull a little from it.
const tolerable = 0.08

// A keeper whose thermometer is 0.6 K off is foretold better after twenty
// clutches; one whose is right, no worse than tolerable.
func TestThermometerThatIsOff(t *testing.T) {
	keepers := keepers
	if testing.Short() {
		keepers = 1
	}
	base := species.Ensemble(0)
	for _, row := range []struct {
		why string
		off float64
	}{{"0.6 K warmer than it shows", 0.6}, {"0.6 K cooler than it shows", -0.6}, {"right", 0}} {
		var before, after score
		renewed := 0
		for seed := range keepers {
			k := newKeeper(base, uint64(seed), row.off)
			r, err := learn.Class{Base: base}.From(k.season(base, clutches))
			if err != nil {
				t.Fatal(err)
			}
			if r.Renewed {
				renewed++
			}
			for n := range 10 {
				c, chance, hatch := k.clutch(base, fmt.Sprint("next", n), float64(80+3*n), []float64{28, 30, 31.5, 29, 32}[n%5])
				before.against(base, c, chance, hatch)
				after.against(r.Ensemble, c, chance, hatch)
			}
		}
		t.Logf("%s: before %v; after %v; drawn anew %d of %d", row.why, before, after, renewed, keepers)
		if keepers == 1 {
			// Too few to hold a mean to: only what is far off must come nearer.
			if row.off != 0 && after.sex > before.sex {
				t.Errorf("%s: the sex is off by more than before: %v, after %v", row.why, before, after)
			}
			continue
		}
		if row.off != 0 && (after.hatch > 0.8*before.hatch || after.sex > 0.7*before.sex) {
			t.Errorf("%s: twenty clutches taught little: before %v, after %v", row.why, before, after)
		}
		if after.hatch > before.hatch ||
			after.sex > 1.1*before.sex && after.sex > tolerable*tolerable*after.n {
			t.Errorf("%s: twenty clutches made it worse: before %v, after %v", row.why, before, after)
		}
		if after.covered < 0.8*after.n {
			t.Errorf("%s: windows that were learned cover %.0f of %.0f", row.why, after.covered, after.n)
		}
	}
}
