package incubation

import "math"

// pageSteps is how many steps of a run are summed up in a page: half a day.
const pageSteps = 72

// A run is a stretch of the record without a gap that one source speaks for,
// in steps of one length. It keeps what was read, not what a member makes of
// it: the temperatures as measured, and sums of them, from which a member's
// development, moments and spread follow without going through the steps.
type run struct {
	source int     // whose error applies, in Track.sources
	from   float64 // day on which the first step begins
	length float64 // of a step, days
	steps  []float32
	silent []float32 // share of each step that no reading speaks for; nil: none
	pages  []page    // of the whole pages that the steps fill
}

func (r *run) to() float64 { return r.at(len(r.steps)) }

// at is the day on which a step begins.
func (r *run) at(step int) float64 { return r.from + float64(step)*r.length }

// quiet is the share of a step that no reading speaks for.
func (r *run) quiet(step int) float64 {
	if r.silent == nil {
		return 0
	}
	return float64(r.silent[step])
}

// add appends a step and closes a page that it fills.
func (r *run) add(celsius, silent float64) {
	r.steps = append(r.steps, float32(celsius))
	if silent > 0 && r.silent == nil {
		r.silent = make([]float32, len(r.steps)-1, cap(r.steps))
	}
	if r.silent != nil {
		r.silent = append(r.silent, float32(silent))
	}
	if n := len(r.steps); n%pageSteps == 0 {
		p := pageOf(r.steps[n-pageSteps:])
		for k := n - pageSteps; k < n; k++ {
			p.broken = p.broken || r.quiet(k) > 0
		}
		r.pages = append(r.pages, p)
	}
}

// A page sums up steps: powers of their temperature about reference, for each
// side of the bend of a member's rate, and how they lie over temperature, for
// everything else.
type page struct {
	sum, square float64 // K, K²
	low, high   float64 // °C
	broken      bool    // some step is not whole: it must be gone through
	bins        []bin
}

// A bin is the steps of a page that lie within binWidth of each other.
type bin struct{ n, celsius float32 } // how many, and their mean

func pageOf(steps []float32) page {
	p := page{low: math.Inf(1), high: math.Inf(-1)}
	for _, c := range steps {
		x := float64(c) - reference
		p.sum += x
		p.square += x * x
		p.low, p.high = min(p.low, float64(c)), max(p.high, float64(c))
	}
	first := binOf(p.low)
	type pile struct{ n, sum float64 }
	piles := make([]pile, binOf(p.high)-first+1)
	filled := 0
	for _, c := range steps {
		h := &piles[binOf(float64(c))-first]
		if h.n == 0 {
			filled++
		}
		h.n++
		h.sum += float64(c)
	}
	p.bins = make([]bin, 0, filled)
	for _, h := range piles {
		if h.n > 0 {
			p.bins = append(p.bins, bin{float32(h.n), float32(h.sum / h.n)})
		}
	}
	return p
}

// gain is a member's development over a page of steps of one day. It follows
// from the sums where the page lies on one side of the bend, and else from the
// bins.
func (p *page) gain(m *Member, bias float64) float64 {
	low, high := p.low+bias, p.high+bias
	u := p.sum + pageSteps*bias
	line := m.PerDegree * (u + pageSteps*(reference-m.Zero))
	if low >= m.Zero && high <= m.Bend {
		return line
	}
	if low >= m.Bend && m.Rate(high) > 0 {
		square := p.square + bias*(2*p.sum+pageSteps*bias)
		over := reference - m.Bend
		return line - m.Brake*(square+over*(2*u+pageSteps*over))
	}
	sum := 0.0
	for _, b := range p.bins {
		sum += float64(b.n) * m.Rate(float64(b.celsius)+bias)
	}
	return sum
}
