package fit

import (
	"math"

	"clutchd/incubation"
)

// Places of the growth and TSP block in its part of a point; days and peak are
// logarithms.
const (
	zero = iota
	days
	optimum
	peak
	tspStart
	tspEnd
	growthDims
)

// shortestTSP is the least of development that the TSP takes: judgement.
const shortestTSP = 0.08

// nothing is where no member may grow any more, °C: no embryo lives there.
const nothing = 47.5

// growth is the rate curve of the block's part of a point.
func (d Data) growth(x []float64) incubation.Growth {
	p := math.Exp(x[peak])
	return incubation.Growth{
		Zero: x[zero], Anchor: d.Anchor, Days: math.Exp(x[days]), Bend: x[optimum] - p, Peak: p,
	}
}

// A growthBlock is growth and the TSP, which the moved eggs tie together and to
// the sex curve.
type growthBlock struct {
	data Data
	rule incubation.Summary
}

func (b growthBlock) start() (start, scale []float64) {
	p := b.data.Priors
	start = []float64{p["zero"].Mean, p["days"].middle(), 33.8, p["peak"].middle(), 0.21, 0.5}
	return start, []float64{1, 0.03, 0.3, 0.1, 0.02, 0.02}
}

// target is what is known of growth and the TSP. x is the block's part of a
// point; m has the sex curve.
func (b growthBlock) target(x []float64, m incubation.Member) float64 {
	p := b.data.Priors
	sum := p["zero"].log(x[zero]) + p["days"].log(x[days]) + p["optimum"].log(x[optimum]) +
		p["peak"].log(x[peak]) + p["start"].log(x[tspStart]) + p["end"].log(x[tspEnd])
	g := b.data.growth(x)
	bend := p["bend"]
	if math.IsInf(sum, -1) || g.Bend < bend.Least || g.Bend > bend.Most ||
		x[tspEnd] < x[tspStart]+shortestTSP {
		return math.Inf(-1)
	}
	m.Grow(g)
	m.Start, m.End, m.Rule = x[tspStart], x[tspEnd], b.rule
	if m.Rate(nothing) > 0 {
		return math.Inf(-1)
	}
	for _, r := range b.data.Durations {
		// What a degree does to a duration goes by the line through the zero.
		warmth := r.CelsiusSD / (r.Celsius - g.Zero)
		sd := math.Sqrt(r.RatioSD*r.RatioSD + warmth*warmth)
		sum += logNormal(math.Log(r.Days), -math.Log(m.Rate(r.Celsius)), sd)
	}
	for _, s := range b.data.Stages {
		at := x[tspStart]
		if s.Of == "end" {
			at = x[tspEnd]
		}
		sum += logNormal(at, s.Days*m.Rate(s.Celsius), s.SD)
	}
	for _, s := range b.data.Switches {
		sum += s.log(&m, b.data.SwitchEggs)
	}
	return sum
}

// male is a member's chance of a male from an egg that was moved.
func (s Switch) male(m *incubation.Member) float64 {
	done := s.Days * m.Rate(s.From)
	before := min(max(done, m.Start), m.End) - m.Start
	return m.ByPortions([]float64{s.From, s.To}, []float64{before, m.End - m.Start - before})
}

// log is the logarithm of how likely the finding is. How many eggs there were
// was not seen: it is summed over. "As at 32" is a difference of two shares of
// as many eggs that nobody saw.
func (s Switch) log(m *incubation.Member, eggs Eggs) float64 {
	moved, still := s.male(m), m.Chance(warm)
	sum, all := 0.0, 0.0
	for n := float64(eggs.Least); n <= float64(eggs.Most); n += 5 {
		w := 1 / n
		all += w
		switch s.Finding {
		case AsWarm:
			p := min(max((moved+still)/2, 0.02), 0.98)
			d := moved - still
			sum += w * math.Exp(-d*d*n/(4*p*(1-p)))
		case NoMale:
			sum += w * math.Pow(1-moved, n)
		case Fewer:
			sum += w * (1 - math.Pow(min(moved/still, 1), n))
		}
	}
	return math.Log(sum/all + doubt)
}

// doubt is the chance that a finding of few eggs, in an abstract, is not what
// it was taken for: judgement.
const doubt = 1e-3
