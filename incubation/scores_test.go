package incubation_test

import (
	"math"
	"testing"
)

// A forecast is a chance of a male, and what hatched.
type forecast struct {
	chance float64
	male   bool
}

func (f forecast) outcome() float64 {
	if f.male {
		return 1
	}
	return 0
}

// forecasts are scored by proper rules: none does better, on average, than the
// chance that is true. The baseline knows the share of males that hatched in
// all of them, and nothing else.
type forecasts struct {
	all   []forecast
	first []forecast // one egg of each clutch: independent of each other
}

func (f *forecasts) take(first bool, chance float64, male bool) {
	f.all = append(f.all, forecast{chance, male})
	if first {
		f.first = append(f.first, forecast{chance, male})
	}
}

// over is the mean of a score of chance and outcome.
func (f *forecasts) over(rule func(chance, outcome float64) float64) float64 {
	sum := 0.0
	for _, x := range f.all {
		sum += rule(x.chance, x.outcome())
	}
	return sum / float64(len(f.all))
}

func square(chance, outcome float64) float64 { return (chance - outcome) * (chance - outcome) }

// surprise is the logarithm of the chance that was given to what came; nothing
// is held for quite impossible.
func surprise(chance, outcome float64) float64 {
	p := min(max(chance, 1e-3), 1-1e-3)
	return -outcome*math.Log(p) - (1-outcome)*math.Log(1-p)
}

func (f *forecasts) brier() float64 { return f.over(square) }
func (f *forecasts) log() float64   { return f.over(surprise) }

func (f *forecasts) share() float64 {
	return f.over(func(_, outcome float64) float64 { return outcome })
}

// said is the mean of the chances, share that of the males among what came.
func (f *forecasts) said() float64 { return f.over(func(chance, _ float64) float64 { return chance }) }

func (f *forecasts) brierBaseline() float64 {
	share := f.share()
	return f.over(func(_, outcome float64) float64 { return square(share, outcome) })
}

func (f *forecasts) logBaseline() float64 {
	share := f.share()
	return f.over(func(_, outcome float64) float64 { return surprise(share, outcome) })
}

// A bin of a reliability table: the forecasts between two chances.
type reliability struct {
	low, high float64
	n         int
	said      float64 // mean of the chances
	came      float64 // share of males
	z         float64 // males over what was said, in its own standard deviations
}

// bins sorts one egg of each clutch by what was said of it.
func (f *forecasts) bins() []reliability {
	edges := []float64{0, 0.1, 0.3, 0.5, 0.7, 1.0001}
	var out []reliability
	for i := range len(edges) - 1 {
		b := reliability{low: edges[i], high: edges[i+1]}
		excess, room := 0.0, 0.0
		for _, x := range f.first {
			if x.chance < b.low || x.chance >= b.high {
				continue
			}
			b.n++
			b.said += x.chance
			b.came += x.outcome()
			excess += x.outcome() - x.chance
			room += x.chance * (1 - x.chance)
		}
		if b.n > 0 {
			b.said /= float64(b.n)
			b.came /= float64(b.n)
			b.z = beyond(excess, room)
		}
		out = append(out, b)
	}
	return out
}

// beyond is a count's excess over the sum of its chances in standard
// deviations, half an egg forgiven: counts are whole.
func beyond(excess, variance float64) float64 {
	if math.Abs(excess) <= 0.5 {
		return 0
	}
	return (excess - math.Copysign(0.5, excess)) / math.Sqrt(max(variance, 1e-9))
}

// pairs are clutches of two: the chances of 0, 1 and 2 males, and how many
// there were.
type pairs struct {
	n      int
	sum    float64 // of surprise
	coin   float64 // of surprise, had the eggs been independent
	counts [3]int
	said   [3]float64
	room   [3]float64
}

func (p *pairs) take(males []float64, came int, chances ...float64) {
	p.n++
	coins := []float64{1, 0, 0}
	for _, c := range chances {
		coins[2] += (coins[1] - coins[2]) * c
		coins[1] += (coins[0] - coins[1]) * c
		coins[0] *= 1 - c
	}
	p.coin -= math.Log(max(coins[came], 1e-3))
	p.sum -= math.Log(max(males[came], 1e-3))
	p.counts[came]++
	for k, c := range males {
		p.said[k] += c
		p.room[k] += c * (1 - c)
	}
}

func (p *pairs) join(other pairs) {
	p.n += other.n
	p.sum += other.sum
	p.coin += other.coin
	for k := range p.counts {
		p.counts[k] += other.counts[k]
		p.said[k] += other.said[k]
		p.room[k] += other.room[k]
	}
}

func (p *pairs) log() float64   { return p.sum / float64(p.n) }
func (p *pairs) coins() float64 { return p.coin / float64(p.n) }

func (p *pairs) baseline() float64 {
	sum := 0.0
	for _, n := range p.counts {
		if n > 0 {
			sum -= float64(n) * math.Log(float64(n)/float64(p.n))
		}
	}
	return sum / float64(p.n)
}

// z is how far the count of pairs with that many males is from what was said.
func (p *pairs) z(males int) float64 {
	return beyond(float64(p.counts[males])-p.said[males], p.room[males])
}

// The scores themselves, against sums done by hand.
func TestScores(t *testing.T) {
	var f forecasts
	f.take(true, 0.8, true)
	f.take(false, 0.8, true)
	f.take(true, 0.8, false)
	f.take(true, 0.2, false)
	near(t, "Brier", f.brier(), (0.04+0.04+0.64+0.04)/4, 1e-12)
	near(t, "its baseline, half and half", f.brierBaseline(), 0.25, 1e-12)
	near(t, "log", f.log(), -(3*math.Log(0.8)+math.Log(0.2))/4, 1e-12)
	near(t, "its baseline", f.logBaseline(), math.Ln2, 1e-12)
	bins := f.bins()
	if bins[4].n != 2 || bins[1].n != 1 || bins[2].n != 0 {
		t.Errorf("bins are %+v", bins)
	}
	near(t, "share in the highest bin", bins[4].came, 0.5, 1e-12)
	near(t, "its excess", bins[4].z, -(0.6-0.5)/math.Sqrt(0.32), 1e-9)
	var p pairs
	p.take([]float64{0.25, 0.5, 0.25}, 1, 0.5, 0.5)
	p.take([]float64{0.25, 0.5, 0.25}, 2, 0.5, 0.2)
	near(t, "pairs", p.log(), 1.5*math.Ln2, 1e-12)
	near(t, "coins", p.coins(), (math.Ln2+math.Log(10))/2, 1e-12)
	near(t, "their baseline", p.baseline(), math.Ln2, 1e-12)
	near(t, "pairs of females missing", p.z(0), 0, 1e-12)
	// Nine of ten believed, fewer than this of sixty come once in a thousand.
	if got := least(60, 0.9); got != 45 && got != 46 && got != 47 {
		t.Errorf("least of 60 is %d", got)
	}
	sum := 0.0
	for k, c := range binomial(60, 0.9) {
		if k < least(60, 0.9) {
			sum += c
		}
	}
	if sum > 1e-3 {
		t.Errorf("fewer than least come %g of the time", sum)
	}
}
