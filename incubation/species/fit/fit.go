// Package fit makes the plausible parameter sets that a species' estimates are
// made under: a thousand draws from what its published values, and those of
// its relatives, leave possible. Every row and prior is data with its source.
//
// The daemon does not fit: what Run gives is committed beside the profile and
// made anew by
//
//	go test ./incubation/species/fit -run TestFit -update
//
// The relatives' developmental zeros are fitted first; what they say of a new
// species is the prior of its zero. Then the sex curve, growth and the TSP are
// fitted together, because eggs that were moved say something of all three;
// once for each of the three summary rules (see incubation.Summary), which
// are not weighed against each other: the moved eggs were too few.
package fit

import (
	"fmt"
	"math"

	"clutchd/incubation"
	"clutchd/incubation/sampler"
)

// Options are how long to sample. Chains, Burn, Keep and Thin are of each
// summary rule's run; the zero value is what the committed file was made with.
type Options struct {
	Seed                     uint64 // 0: 1
	Chains, Burn, Keep, Thin int
	Members                  int // 0: incubation.DefaultMembers
}

func (o Options) filled() Options {
	for _, f := range []struct {
		at    *int
		usual int
	}{{&o.Chains, 4}, {&o.Burn, 3000}, {&o.Keep, 600}, {&o.Thin, 40}, {&o.Members, incubation.DefaultMembers}} {
		if *f.at == 0 {
			*f.at = f.usual
		}
	}
	if o.Seed == 0 {
		o.Seed = 1
	}
	return o
}

// rules are the summaries a member may believe in.
var rules = [...]incubation.Summary{incubation.ByMean, incubation.ByMedian, incubation.ByChance}

// A Result is a fit: the draws by summary rule, and the relatives' zeros.
type Result struct {
	Data  Data
	Zeros Zeros
	Runs  [len(rules)]sampler.Result
	o     Options
}

// Run fits the published values.
func Run(d Data, o Options) (Result, error) {
	o = o.filled()
	zeros, err := FitZeros(d, o)
	if err != nil {
		return Result{}, err
	}
	out := Result{Data: d.withZero(zeros), Zeros: zeros, o: o}
	for i, rule := range rules {
		if out.Runs[i], err = out.run(rule, o.Seed+uint64(i)+1); err != nil {
			return Result{}, fmt.Errorf("fit %s, summary %d: %w", d.Species, rule, err)
		}
	}
	return out, nil
}

// withZero is the data with what relatives say of the species' own zero.
func (d Data) withZero(z Zeros) Data {
	priors := map[string]Prior{}
	for name, p := range d.Priors {
		priors[name] = p
	}
	p := priors["zero"]
	p.Mean, p.SD = z.Mean, z.SD
	priors["zero"] = p
	d.Priors = priors
	return d
}

func (r Result) run(rule incubation.Summary, seed uint64) (sampler.Result, error) {
	sex, growth := newSexBlock(r.Data), growthBlock{r.Data, rule}
	start, scale := sex.start()
	more, wide := growth.start()
	whole := func(x []float64) float64 {
		// Which laboratory moved eggs were of does not matter beside the rest.
		sum := growth.target(x[sex.dims():], curve(x, 0))
		if math.IsInf(sum, -1) {
			return sum
		}
		return sum + sex.target(x)
	}
	return sampler.Run(whole, sampler.Options{
		Start: append(start, more...), Scale: append(scale, wide...),
		Chains: r.o.Chains, Burn: r.o.Burn, Keep: r.o.Keep, Thin: r.o.Thin, Seed: seed,
	})
}

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
