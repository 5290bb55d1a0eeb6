// Package sampler draws from a distribution of which only the logarithm of an
// unscaled density is known: random-walk Metropolis over gonum's sampler, with
// a pilot that finds the steps, several chains, and figures that tell whether
// they can be believed.
//
// It knows nothing of geckos. The fit of the published values and what a room
// learns from its own hatches both use it. The same target, options and build
// give the same draws bit for bit.
package sampler

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/samplemv"
)

// A Target is the logarithm of a density, up to a constant, at a point. It is
// minus infinity where nothing can be; a NaN counts as that. It must not keep
// or change the point.
type Target func(point []float64) float64

// Options say where and how long to sample.
type Options struct {
	// Start is a point the target allows, and Scale roughly how wide it is
	// about it in each direction, all above 0: the chains start that far apart.
	Start, Scale []float64
	Chains       int // 0: 4
	Burn         int // steps of each chain that are thrown away; 0: 2000
	Keep         int // draws kept of each chain; 0: 1000
	Thin         int // steps from one kept draw to the next; 0: 1
	Seed         uint64
}

// pilots is how many times the steps are set anew before the chains run, each
// time from a pilot of Burn steps.
const pilots = 5

// ErrStart is returned where the target allows neither Start nor anything near.
var ErrStart = errors.New("nothing near the start is possible")

func (o Options) filled() (Options, error) {
	for _, n := range []struct {
		value *int
		usual int
	}{{&o.Chains, 4}, {&o.Burn, 2000}, {&o.Keep, 1000}, {&o.Thin, 1}} {
		if *n.value == 0 {
			*n.value = n.usual
		}
		if *n.value < 0 {
			return o, fmt.Errorf("sample: %d is no number of chains, steps or draws", *n.value)
		}
	}
	if len(o.Start) == 0 || len(o.Start) != len(o.Scale) {
		return o, fmt.Errorf("sample: start has %d numbers, scale %d", len(o.Start), len(o.Scale))
	}
	for i, s := range o.Scale {
		if !(s > 0) || math.IsInf(s, 0) {
			return o, fmt.Errorf("sample: scale %d is %g", i, s)
		}
	}
	return o, nil
}

// Run samples a target. Steps are normal with 2.38²/d times the covariance
// that pilots found (Roberts, Gelman & Gilks 1997), d the dimensions.
func Run(target Target, o Options) (Result, error) {
	o, err := o.filled()
	if err != nil {
		return Result{}, err
	}
	chains := make([]*chain, o.Chains)
	for i := range chains {
		if chains[i], err = start(target, o, uint64(i)); err != nil {
			return Result{}, err
		}
	}
	sigma := firstSteps(o.Scale)
	for range pilots {
		if sigma, err = pilot(chains, sigma, o); err != nil {
			return Result{}, err
		}
	}
	return collect(chains, sigma, o)
}

// collect runs the chains for good.
func collect(chains []*chain, sigma *mat.SymDense, o Options) (Result, error) {
	var out Result
	moved, made := 0, 0
	for _, c := range chains {
		batch, err := c.run(sigma, o.Burn, o.Keep, o.Thin)
		if err != nil {
			return Result{}, err
		}
		out.Chains = append(out.Chains, rows(batch))
		moved, made = moved+c.steps.moved, made+c.steps.made
	}
	out.Accepted = float64(moved) / float64(made)
	out.RHat, out.Effective = out.judge(len(o.Start))
	return out, nil
}

// pilot runs every chain for a while and gives the steps that suit what it
// saw. A pilot that hardly moved, or hardly ever stood still, only has its
// steps shortened or lengthened.
func pilot(chains []*chain, sigma *mat.SymDense, o Options) (*mat.SymDense, error) {
	dims := len(o.Scale)
	seen := mat.NewSymDense(dims, nil)
	moved, made := 0, 0
	for _, c := range chains {
		batch, err := c.run(sigma, 0, o.Burn, 1)
		if err != nil {
			return nil, err
		}
		moved, made = moved+c.steps.moved, made+c.steps.made
		last := batch.Slice(o.Burn/4, o.Burn, 0, dims)
		var own mat.SymDense
		stat.CovarianceMatrix(&own, last, nil)
		seen.AddSym(seen, &own)
	}
	accepted := float64(moved) / float64(made)
	if accepted < 0.05 {
		seen.ScaleSym(0.2, sigma)
		return seen, nil
	}
	// Within the chains only: how far apart they began is not how wide it is.
	seen.ScaleSym(2.38*2.38/float64(dims)/float64(len(chains)), seen)
	for i, s := range o.Scale {
		seen.SetSym(i, i, seen.At(i, i)*(1+1e-6)+1e-10*s*s)
	}
	return seen, nil
}

// firstSteps are a tenth of what would suit a target as wide as scale.
func firstSteps(scale []float64) *mat.SymDense {
	sigma := mat.NewSymDense(len(scale), nil)
	for i, s := range scale {
		sigma.SetSym(i, i, 0.1*2.38*2.38/float64(len(scale))*s*s)
	}
	return sigma
}

// A chain is one walk and where it stands.
type chain struct {
	target logProber
	at     []float64
	src    *rand.PCG
	steps  *steps
}

// start places a chain near the start, where the target allows it.
func start(target Target, o Options, number uint64) (*chain, error) {
	src := rand.NewPCG(o.Seed, number)
	rng := rand.New(src)
	c := &chain{target: logProber{target}, src: src, at: make([]float64, len(o.Start))}
	for try := range 200 {
		wide := math.Pow(0.95, float64(try))
		for i := range c.at {
			c.at[i] = o.Start[i] + wide*o.Scale[i]*rng.NormFloat64()
		}
		if !math.IsInf(c.target.LogProb(c.at), -1) {
			return c, nil
		}
	}
	return nil, fmt.Errorf("sample from %v: %w", o.Start, ErrStart)
}

// run walks on and gives the draws kept, one in a row.
func (c *chain) run(sigma *mat.SymDense, burn, keep, thin int) (*mat.Dense, error) {
	normal, ok := samplemv.NewProposalNormal(sigma, c.src)
	if !ok {
		return nil, fmt.Errorf("sample: the steps %v are no covariance", mat.Formatted(sigma))
	}
	c.steps = &steps{ProposalNormal: normal, last: append([]float64(nil), c.at...)}
	batch := mat.NewDense(keep, len(c.at), nil)
	samplemv.MetropolisHastingser{
		Initial: c.at, Target: c.target, Proposal: c.steps, Src: c.src, BurnIn: burn, Rate: thin,
	}.Sample(batch)
	copy(c.at, batch.RawRowView(keep-1))
	return batch, nil
}

// logProber is a target as gonum wants it.
type logProber struct{ target Target }

func (l logProber) LogProb(x []float64) float64 {
	if p := l.target(x); !math.IsNaN(p) {
		return p
	}
	return math.Inf(-1)
}

// steps propose and count how many were taken.
type steps struct {
	*samplemv.ProposalNormal
	last        []float64
	made, moved int
}

func (s *steps) ConditionalRand(x, y []float64) []float64 {
	s.made++
	for i, v := range y {
		if v != s.last[i] {
			s.moved++
			copy(s.last, y)
			break
		}
	}
	return s.ProposalNormal.ConditionalRand(x, y)
}

// ConditionalLogProb is a constant: a step is as likely as the step back, and
// only the difference of the two is asked for.
func (s *steps) ConditionalLogProb(_, _ []float64) float64 { return 0 }

func rows(batch *mat.Dense) [][]float64 {
	n, _ := batch.Dims()
	out := make([][]float64, n)
	for i := range out {
		out[i] = batch.RawRowView(i)
	}
	return out
}
