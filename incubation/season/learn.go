package season

import (
	"fmt"
	"math"

	"clutchd/incubation"
)

// A pool learns a length of time for each female of a herd.
//
// The model is normal at three steps: a herd's mean m about the starting
// value, a female's mean about m, and a single length about hers:
//
//	m ~ N(start, h²)   f ~ N(m, b²)   x ~ N(f, w²)
//
// The starting value's 5 % and 95 % points say how far the next length of any
// female of any herd may be off: its sd is S = (high − low) / 3.29, and S² is
// split into h² = b² = S²/4 and w² = S²/2 (judgement), so that with no lengths
// at all the answer is the starting value with its own range. w² gives way to
// what is seen: w² = (6·S²/2 + sum of squares within females) / (6 + degrees
// of freedom), the start being worth six.
//
// A female with n lengths of mean x̄ tells of m with weight k = 1/(b² + w²/n).
// From the others' M = (start/h² + Σkx̄) / (1/h² + Σk) with variance
// V = 1/(1/h² + Σk), hers is
//
//	P = 1/(1/(V + b²) + n/w²)   f = P·(M/(V + b²) + n·x̄/w²)
//
// and the next length is N(f, P + w²). This is exact for the three variances;
// that they are taken as known makes the band a little narrow.
type pool struct {
	start        Assumption
	h2, b2, w2   float64
	own          map[string]group
	total, whole float64 // Σk and Σkx̄ over all females
	n            int     // lengths in all
}

// A group is one female's lengths.
type group struct {
	n         int
	mean      float64
	k, weight float64
}

const (
	// startWorth is how many degrees of freedom the starting w² counts as.
	startWorth = 6
	// z80 and z90 are the normal distribution's 90 % and 95 % points.
	z80 = 1.2815515655446004
	z90 = 1.6448536269514722
	// band is the probability of every range that this package gives.
	band = 0.8
)

// learnt makes a pool of lengths by female.
func learnt(start Assumption, lengths map[string][]float64) *pool {
	sd := (start.High - start.Low) / (2 * z90)
	p := &pool{start: start, h2: sd * sd / 4, b2: sd * sd / 4, w2: sd * sd / 2, own: map[string]group{}}
	squares, df := startWorth*p.w2, float64(startWorth)
	for id, xs := range lengths {
		g := group{n: len(xs)}
		if g.n == 0 {
			continue
		}
		for _, x := range xs {
			g.mean += x / float64(g.n)
		}
		for _, x := range xs {
			squares += (x - g.mean) * (x - g.mean)
		}
		df += float64(g.n - 1)
		p.n += g.n
		p.own[id] = g
	}
	p.w2 = squares / df
	for _, id := range sortedKeys(p.own) {
		g := p.own[id]
		g.k = 1 / (p.b2 + p.w2/float64(g.n))
		g.weight = g.k * g.mean
		p.own[id] = g
		p.total += g.k
		p.whole += g.weight
	}
	return p
}

// mean gives a female's own mean length and its variance.
func (p *pool) mean(female string) (mean, variance float64) {
	g := p.own[female]
	v := 1 / (1/p.h2 + p.total - g.k)
	m := v * (p.start.Value/p.h2 + p.whole - g.weight)
	prior := v + p.b2
	variance = 1 / (1/prior + float64(g.n)/p.w2)
	return variance * (m/prior + float64(g.n)*g.mean/p.w2), variance
}

// of gives the female's next length.
func (p *pool) of(female string) Learned {
	mean, variance := p.mean(female)
	sd := math.Sqrt(variance + p.w2)
	own := p.own[female].n
	return Learned{
		Days: mean, SD: sd, Low: max(mean-z80*sd, 0), High: mean + z80*sd, Probability: band,
		Own: own, Herd: p.n - own, Start: p.start.Key, Says: basis(own, p.n-own, p.start.Mark),
	}
}

// basis says what a length rests on.
func basis(own, herd int, mark incubation.Mark) string {
	start := fmt.Sprintf("a starting value (%s)", markWords(mark))
	switch {
	case own == 0 && herd == 0:
		return start
	case own == 0:
		return fmt.Sprintf("%d of the herd and %s", herd, start)
	case herd == 0:
		return fmt.Sprintf("%d of her own and %s", own, start)
	}
	return fmt.Sprintf("%d of her own and %d of the herd", own, herd)
}

// markWords is how a sentence names a mark.
func markWords(m incubation.Mark) string {
	switch m {
	case incubation.Common:
		return "common practice, no source"
	case incubation.Judgement:
		return "judgement, no source"
	}
	return string(m)
}

// learn fills the herd's pools.
func (h *Herd) learn() {
	lengths := map[string]func(*course) []float64{
		BetweenClutches:  func(c *course) []float64 { return c.intervals(h.value(PauseInLaying)) },
		CycleUnbred:      (*course).cycles,
		GravidToLaying:   func(c *course) []float64 { return c.fromGravid },
		ShellingToLaying: func(c *course) []float64 { return c.fromShelling },
		AfterResorption:  (*course).pauses,
		PairingToClutch:  func(c *course) []float64 { return c.toFirst(h.seasonAt) },
	}
	h.pools = map[string]*pool{}
	for key, of := range lengths {
		own := map[string][]float64{}
		for id, c := range h.courses {
			if xs := of(c); len(xs) > 0 {
				own[id] = xs
			}
		}
		h.pools[key] = learnt(h.values[key], own)
	}
	h.openers = h.openings()
	h.stops = h.stopping()
}
