package incubation_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// A world says what becomes of eggs: it draws the animals of a keeper.
type world func(rng *rand.Rand) *animals

// animals are one keeper's: how their eggs grow and what makes a male of them.
type animals struct {
	rate    func(celsius float64) float64    // development a day
	counts  func(done float64) float64       // how much temperature counts for sex then
	hatches func(rng *rand.Rand) float64     // development at which an egg hatches
	chance  func(f *felt) float64            // of a male in an average clutch
	leaning func(f *felt, z float64) float64 // in a clutch that leans by a standard normal z
}

// live takes an egg through what it feels, by summing up steps: none of the
// package's code but, in the first world, a member's own rate and sex curve.
func (a *animals) live(
	t testing.TB, path []float64, laid, lean float64, rng *rand.Rand,
) hatchling {
	t.Helper()
	var out hatchling
	var f felt
	end, done := a.hatches(rng), 0.0
	for i, celsius := range path {
		if i%simPerDay == 0 {
			out.grown = append(out.grown, done)
		}
		step := min(float64(i+1)*simDay-laid, simDay)
		if step <= 0 {
			continue
		}
		grows := a.rate(celsius) * step
		if w := a.counts(done) * grows; w > 0 {
			f.add(celsius, w)
		}
		if done += grows; done >= end {
			out.hatched = (float64(i) + 1) * simDay
			break
		}
	}
	if out.hatched == 0 {
		t.Fatalf("an egg came to %.2f of development in %d days and did not hatch", done, simDays)
	}
	out.chance, out.median = a.chance(&f), f.median()
	out.male = rng.Float64() < a.leaning(&f, lean)
	return out
}

// felt is temperature as far as it counts for sex, in bins of feltBin.
type felt struct {
	bins         [2000]float64
	total, first float64
}

const (
	feltFrom = 10.0 // °C
	feltBin  = 0.02 // K
)

func (f *felt) add(celsius, weight float64) {
	n := min(max(int((celsius-feltFrom)/feltBin), 0), len(f.bins)-1)
	f.bins[n] += weight
	f.total += weight
	f.first += weight * celsius
}

func (f *felt) mean() float64 { return f.first / f.total }

func (f *felt) median() float64 {
	below := 0.0
	for n, w := range f.bins {
		if below += w; below >= f.total/2 {
			return feltFrom + feltBin*(float64(n)+0.5)
		}
	}
	return math.NaN()
}

// average is the mean of a function of temperature.
func (f *felt) average(of func(celsius float64) float64) float64 {
	sum := 0.0
	for n, w := range f.bins {
		if w > 0 {
			sum += w * of(feltFrom+feltBin*(float64(n)+0.5))
		}
	}
	return sum / f.total
}

// The normal distribution of these tests, and its inverse.
func normalBelow(z float64) float64    { return 0.5 * math.Erfc(-z/math.Sqrt2) }
func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// judges is the ensemble that simulated clutches are estimated under, some of
// the leopard gecko's members for the sake of time. truths are the rest of
// them, of which one is the truth in the first world: none is among the judges.
var (
	judges = sync.OnceValue(func() *incubation.Ensemble { return leopardsFrom(0, judged()) })
	truths = sync.OnceValue(func() *incubation.Ensemble { return leopardsFrom(judged(), math.MaxInt) })
)

func judged() int {
	if testing.Short() || raced {
		return 100
	}
	return 300
}

// leopardsFrom are the leopard gecko's members from one to before another.
func leopardsFrom(from, to int) *incubation.Ensemble {
	_, members := species.LeopardFit()
	return incubation.Assemble(species.Leopard(), members[from:min(to, len(members))])
}

// firstWorld is the model itself: a member of the ensemble is the truth, its
// eggs hatch apart by the profile's spread, siblings go together as the member
// has it. What it cannot catch is a number that truth and estimate share, such
// as the days at 28 °C or the pivotal temperature: see laterWorld.
func firstWorld(rng *rand.Rand) *animals {
	m := truths().Members[rng.IntN(len(truths().Members))]
	spread := truths().Profile.Development.EggSpread.Value
	a := &animals{
		rate: m.Rate,
		counts: func(done float64) float64 {
			if done < m.Start || done >= m.End {
				return 0
			}
			return 1
		},
		hatches: func(rng *rand.Rand) float64 { return max(1+spread*rng.NormFloat64(), m.End) },
		chance: func(f *felt) float64 {
			switch m.Rule {
			case incubation.ByMean:
				return m.Chance(f.mean())
			case incubation.ByMedian:
				return m.Chance(f.median())
			}
			return f.average(m.Chance)
		},
	}
	a.leaning = func(f *felt, z float64) float64 {
		limit := normalQuantile(a.chance(f)) + math.Sqrt(m.Clutch)*z
		return normalBelow(limit / math.Sqrt(1-m.Clutch))
	}
	return a
}
