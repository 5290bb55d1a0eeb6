package fit

import (
	"fmt"
	"math"

	"clutchd/incubation/sampler"
)

// FitSex fits the sex curve alone, as for asking what it would say of rows it
// has not seen.
func FitSex(d Data, o Options) (Curves, error) {
	o = o.filled()
	b := newSexBlock(d)
	start, scale := b.start()
	r, err := sampler.Run(b.target, sampler.Options{
		Start: start, Scale: scale, Chains: o.Chains, Burn: o.Burn, Keep: o.Keep, Thin: o.Thin,
		Seed: o.Seed,
	})
	if err != nil {
		return Curves{}, fmt.Errorf("fit the sex curve of %s: %w", d.Species, err)
	}
	return Curves{b, r.All(), r}, nil
}

// Curves are draws of the sex curve.
type Curves struct {
	block  sexBlock
	draws  [][]float64
	Result sampler.Result
}

// Curves are the sex curves of all three runs.
func (r Result) Curves() Curves {
	c := Curves{block: newSexBlock(r.Data)}
	for _, run := range r.Runs {
		c.draws = append(c.draws, run.All()...)
	}
	return c
}

// Predict gives the chances of 0 to n males at a temperature. rooms: in a room
// that nobody has measured, each draw's shift being one of a few even steps of
// its spread; clutches: siblings go together.
func (c Curves) Predict(celsius float64, n int, rooms, clutches bool) []float64 {
	out := make([]float64, n+1)
	for i, x := range c.draws {
		off, rho := 0.0, 0.0
		if rooms {
			off = even(i, 41)
		}
		if clutches {
			rho = x[clutch]
		}
		m := curve(x, off)
		eggs := newClutched(n, m.Chance(celsius), rho, c.block.data.Siblings.Eggs)
		eggs.eachTo(n, func(k int, p float64) { out[k] += p / float64(len(c.draws)) })
	}
	return out
}

// even is the i-th of n standard normal numbers in even strata, over and over.
func even(i, n int) float64 {
	return math.Sqrt2 * math.Erfinv(2*(float64(i*17%n)+0.5)/float64(n)-1)
}
