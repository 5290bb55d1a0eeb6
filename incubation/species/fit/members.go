package fit

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strconv"

	"gonum.org/v1/gonum/stat"

	"clutchd/incubation/species"
)

// File is what is committed of a fit.
func (r Result) File() species.Fit {
	out := species.Fit{
		Made: species.Made{
			By:   "go test ./incubation/species/fit -run TestFit -update",
			From: "incubation/species/fit/" + LeopardFile, Hash: r.Data.hash, Papers: r.Data.Papers,
			Seed: r.o.Seed, Chains: r.o.Chains, Burn: r.o.Burn, Keep: r.o.Keep, Thin: r.o.Thin,
			Arithmetic: Arithmetic(),
		},
		Anchor: r.Data.Anchor,
	}
	out.Made.Effective = math.Inf(1)
	for _, run := range r.Runs {
		out.Made.Accepted += run.Accepted / float64(len(r.Runs))
		out.Made.RHat = max(out.Made.RHat, run.WorstRHat())
		out.Made.Effective = min(out.Made.Effective, run.LeastEffective())
	}
	for _, v := range []*float64{&out.Made.Accepted, &out.Made.RHat, &out.Made.Effective} {
		*v = rounded(*v, 4)
	}
	out.Members = r.members()
	out.Quantiles = r.quantiles()
	return out
}

// members are draws of the three runs in turn, evenly spaced in each and
// shuffled: any first so many are as good a choice as any.
func (r Result) members() []species.Plausible {
	rng := rand.New(rand.NewPCG(r.o.Seed, 0x6d656d62657273))
	var hands [len(rules)][][]float64
	for i, run := range r.Runs {
		hands[i] = spaced(run.All(), (r.o.Members+len(rules)-1-i)/len(rules))
		rng.Shuffle(len(hands[i]), func(a, b int) {
			hands[i][a], hands[i][b] = hands[i][b], hands[i][a]
		})
	}
	out := make([]species.Plausible, r.o.Members)
	rooms := rng.Perm(len(out))
	for i := range out {
		x := hands[i%len(rules)][i/len(rules)]
		room := math.Sqrt2 * math.Erfinv(2*(float64(rooms[i])+0.5)/float64(len(out))-1)
		out[i] = r.member(x, room)
		out[i].Rule = species.RuleName(rules[i%len(rules)])
	}
	return out
}

// spaced are n of the draws, as far apart as they can be.
func spaced(draws [][]float64, n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = draws[i*len(draws)/n]
	}
	return out
}

// member is a draw as a member in a room of its own, room being how many
// spreads between laboratories it is off.
func (r Result) member(x []float64, room float64) species.Plausible {
	m := curve(x, room)
	y := x[newSexBlock(r.Data).dims():]
	g := r.Data.growth(y)
	return species.Plausible{
		Zero: printed(g.Zero), Days: printed(g.Days), Bend: printed(g.Bend), Peak: printed(g.Peak),
		Start: printed(y[tspStart]), End: printed(y[tspEnd]),
		Rising:  [2]float64{printed(m.Rising.Pivotal), printed(m.Rising.Slope)},
		Falling: [2]float64{printed(m.Falling.Pivotal), printed(m.Falling.Slope)},
		Clutch:  printed(x[clutch]),
	}
}

// quantiles tell where every number came to lie, over all draws.
func (r Result) quantiles() []species.Quantiles {
	var draws [][]float64
	for _, run := range r.Runs {
		draws = append(draws, run.All()...)
	}
	sex := newSexBlock(r.Data).dims()
	var out []species.Quantiles
	for _, q := range []struct {
		name  string
		value func(x []float64) float64
	}{
		{"zero", func(x []float64) float64 { return x[sex+zero] }},
		{"days", func(x []float64) float64 { return math.Exp(x[sex+days]) }},
		{"bend", func(x []float64) float64 { return r.Data.growth(x[sex:]).Bend }},
		{"peak", func(x []float64) float64 { return math.Exp(x[sex+peak]) }},
		{"start", func(x []float64) float64 { return x[sex+tspStart] }},
		{"end", func(x []float64) float64 { return x[sex+tspEnd] }},
		{"rising", func(x []float64) float64 { return curve(x, 0).Rising.Pivotal }},
		{"rising_slope", func(x []float64) float64 { return math.Exp(x[risingSlope]) }},
		{"falling", func(x []float64) float64 { return curve(x, 0).Falling.Pivotal }},
		{"falling_slope", func(x []float64) float64 { return math.Exp(x[fallingSlope]) }},
		{"laboratory", func(x []float64) float64 { return math.Exp(x[laboratory]) }},
		{"clutch", func(x []float64) float64 { return x[clutch] }},
	} {
		values := make([]float64, len(draws))
		for i, x := range draws {
			values[i] = q.value(x)
		}
		out = append(out, points(q.name, values))
	}
	return out
}

func points(name string, values []float64) species.Quantiles {
	return species.Quantiles{
		Name: name, Low: rounded(quantile(values, 0.05), 4), Median: rounded(quantile(values, 0.5), 4),
		High: rounded(quantile(values, 0.95), 4), SD: rounded(stat.StdDev(values, nil), 4),
	}
}

// printed rounds to the digits of the file.
func printed(x float64) float64 { return rounded(x, 6) }

func rounded(x float64, digits int) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
	if err != nil {
		return x
	}
	return v
}

// Arithmetic is a sum over results of the functions that a fit rests on. They
// differ in their last bits between architectures, processors and releases of
// Go, and a chain takes another way from the first difference on.
func Arithmetic() string {
	sum := fnv.New64a()
	for i := 1; i <= 2000; i++ {
		x := float64(i) * 0.00713
		gamma, _ := math.Lgamma(x)
		for _, v := range []float64{
			math.Exp(-x), math.Log(x), math.Log1p(-x / 15), gamma, math.Pow(x/15, x), math.Sqrt(x),
			math.Erfinv(x/15 - 0.5), math.Asin(x / 15), x*x + math.Exp(x)*x,
		} {
			fmt.Fprintf(sum, "%x ", math.Float64bits(v))
		}
	}
	return fmt.Sprintf("%016x", sum.Sum64())
}
