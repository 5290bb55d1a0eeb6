package fit

import (
	"math"
	"slices"

	"clutchd/incubation"
)

// Places of the sex block in a point. Slopes and the spread between
// laboratories are logarithms. Pivotal temperatures are the first laboratory's,
// which tells them best; how far each lies off the middle of all follows, in
// spreads.
const (
	rising = iota
	risingSlope
	falling
	fallingSlope
	laboratory
	clutch
	firstShift
)

// A sexBlock is the sex curve: two logistic limbs, moved together by the
// laboratory, and the counts of males about it.
type sexBlock struct {
	data Data
	labs []string
	rows []Hatchlings
	// told are the numbers of eggs, and of males among them, that a printed
	// percentage can stand for; by share.
	told [][]tellable
	// few are the numbers of eggs that "mostly females" is tried for.
	few []int
}

// tellable is a number of eggs whose males, from least to most, round to a
// percentage.
type tellable struct {
	eggs, least, most int
	weight            float64
}

func newSexBlock(d Data) sexBlock {
	b := sexBlock{data: d, labs: d.laboratories(), few: []int{5, 8, 12, 20, 40}}
	for _, h := range d.Hatchlings {
		if h.LeftOut == "" {
			b.rows = append(b.rows, h)
		}
	}
	for _, s := range d.Shares {
		b.told = append(b.told, tellables(s))
	}
	return b
}

// tellables are all numbers of eggs that a share can be of. Their weights
// count the ones that it cannot: those do not tell for it.
func tellables(s Share) []tellable {
	var out []tellable
	all := 0.0
	for n := s.Eggs.Least; n <= s.Eggs.Most; n++ {
		all += 1 / float64(n)
		row := tellable{eggs: n, least: n + 1, weight: 1 / float64(n)}
		for k := 0; k <= n; k++ {
			if math.Round(100*float64(k)/float64(n)) == s.Percent {
				row.least, row.most = min(row.least, k), k
			}
		}
		if row.least <= n {
			out = append(out, row)
		}
	}
	for i := range out {
		out[i].weight /= all
	}
	return out
}

func (b sexBlock) dims() int { return firstShift + len(b.labs) }

func (b sexBlock) start() (start, scale []float64) {
	p := b.data.Priors
	for _, name := range []string{"rising", "rising_slope", "falling", "falling_slope"} {
		start = append(start, p[name].middle())
	}
	start = append(start, math.Log(0.15), p["clutch"].middle())
	scale = []float64{0.1, 0.1, 0.1, 0.1, 0.5, 0.05}
	for range b.labs {
		start, scale = append(start, 0), append(scale, 0.5)
	}
	return start, scale
}

// curve is the sex curve of a point in a place that lies off the middle of all
// laboratories by as many spreads; 0 is the middle itself.
func curve(x []float64, off float64) incubation.Member {
	shift := math.Exp(x[laboratory]) * (off - x[firstShift])
	return incubation.Member{
		Rising:  incubation.Flank{Pivotal: x[rising] + shift, Slope: math.Exp(x[risingSlope])},
		Falling: incubation.Flank{Pivotal: x[falling] + shift, Slope: math.Exp(x[fallingSlope])},
	}
}

// off is where a laboratory lies, in spreads; 0 for one that is not among the
// rows.
func (b sexBlock) off(x []float64, lab string) float64 {
	if i := slices.Index(b.labs, lab); i >= 0 {
		return x[firstShift+i]
	}
	return 0
}

func (b sexBlock) target(x []float64) float64 {
	p := b.data.Priors
	middle := curve(x, 0)
	// The spread is sampled as its logarithm: its density takes a factor.
	sum := p["rising"].log(middle.Rising.Pivotal) + p["rising_slope"].log(x[risingSlope]) +
		p["falling"].log(middle.Falling.Pivotal) + p["falling_slope"].log(x[fallingSlope]) +
		p["laboratory"].log(math.Exp(x[laboratory])) + x[laboratory] + p["clutch"].log(x[clutch])
	if math.IsInf(sum, -1) || x[falling] <= x[rising] {
		return math.Inf(-1)
	}
	for _, z := range x[firstShift:b.dims()] {
		sum -= z * z / 2
	}
	for _, r := range b.rows {
		sum += b.eggs(x, r.Sexed, r.Celsius, r.Laboratory).log(r.Males)
	}
	for i, s := range b.data.Shares {
		sum += math.Log(b.share(x, s, b.told[i]))
	}
	for _, s := range b.data.MostlyFemale {
		sum += math.Log(b.mostlyFemale(x, s))
	}
	return sum
}

// eggs are n of a laboratory at a temperature.
func (b sexBlock) eggs(x []float64, n int, celsius float64, lab string) clutched {
	m := curve(x, b.off(x, lab))
	return newClutched(n, m.Chance(celsius), x[clutch], b.data.Siblings.Eggs)
}

// share is the chance that an unknown number of eggs gives a percentage.
func (b sexBlock) share(x []float64, s Share, told []tellable) float64 {
	m := curve(x, b.off(x, s.Laboratory))
	p, sum := m.Chance(s.Celsius), 0.0
	for _, t := range told {
		newClutched(t.eggs, p, x[clutch], b.data.Siblings.Eggs).eachTo(t.most, func(k int, p float64) {
			if k >= t.least {
				sum += t.weight * p
			}
		})
	}
	return sum
}

// mostlyFemale is the chance that fewer than half of the eggs become males.
func (b sexBlock) mostlyFemale(x []float64, s Share) float64 {
	sum, all := 0.0, 0.0
	for _, n := range b.few {
		if n < s.Eggs.Least || n > s.Eggs.Most {
			continue
		}
		w := 1 / float64(n)
		all += w
		b.eggs(x, n, s.Celsius, s.Laboratory).eachTo((n-1)/2, func(_ int, p float64) { sum += w * p })
	}
	return sum / all
}
