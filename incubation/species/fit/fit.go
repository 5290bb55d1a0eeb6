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
