package sensors

import (
	"math"
	"slices"
	"time"
)

// The Hampel identifier (Hampel 1974, J. Am. Stat. Assoc. 69:383-393; Davies &
// Gather 1993, ibid. 88:782-792): a value is an outlier if it lies further from
// the median of its neighbours than so many times their median absolute
// deviation, which 1.4826 makes comparable with a standard deviation. Three of
// these is the usual threshold. This one looks back only.
const (
	hampelWindow = 7
	hampelFewest = 3 // neighbours: fewer tell nothing
	hampelSigmas = 3
	madToSigma   = 1.4826
)

// What is no spike however still the neighbours are: steps of the sensor, what
// neither alerts nor the estimate would notice, and as much more as the air
// may have changed by since the last reading. Judgement.
const (
	spikeSteps   = 4
	spikeLeast   = 0.5 // K
	spikePerHour = 30  // K
)

// A lone outlier is a spike. When those after it agree, it was a step, and
// counts from then on: after two more, or one where readings are so far apart
// that two are long to wait for, or where the value comes back to where it was
// lately. Whatever happens, outliers are believed after so many.
const (
	confirmFast = 2
	confirmSlow = 1
	slowFrom    = 30 * time.Second
	confirmAny  = 5
)

// A hampel tells spikes from steps. What is near the newest believed value is
// never odd, however far the place has come from the median.
type hampel struct {
	window []float64     // believed, newest last
	odd    []float64     // outliers since, newest last
	apart  time.Duration // since the newest believed
	took   time.Duration // from there to the first outlier
	home   span          // of what was believed lately
}

// A finding is what a hampel makes of a value.
type finding struct {
	spike   bool
	lone    int           // so many before it were spikes: it bears none of them out
	stepped bool          // it was a step: what was odd until now is believed
	from    float64       // °C: where it stepped from
	first   float64       // °C: what came then
	within  time.Duration // the time between the two
}

// see takes the next value, since after the one before.
func (h *hampel) see(x float64, since time.Duration, resolution float64) finding {
	h.home.fade(since)
	h.apart += since
	if len(h.window) < hampelFewest {
		h.believe(x)
		return finding{}
	}
	centre, last := median(h.window), h.window[len(h.window)-1]
	least := max(spikeLeast, spikeSteps*resolution) + spikePerHour*h.apart.Hours()
	if math.Abs(x-last) <= least || math.Abs(x-centre) <= max(h.spread(centre), least) {
		return h.settled(x, last, least)
	}
	if len(h.odd) == 0 {
		h.odd, h.took = append(h.odd, x), h.apart
		return finding{spike: true}
	}
	agrees := h.agrees(x, centre)
	h.odd = append(h.odd, x)
	n := confirmFast
	if since >= slowFrom || h.home.holds(x) {
		n = confirmSlow
	}
	if agrees >= n || len(h.odd) > confirmAny {
		out := finding{stepped: true, from: centre, first: h.odd[0], within: h.took}
		h.window = append(h.window[:0], h.odd...)
		h.odd, h.apart = h.odd[:0], 0
		h.home.take(x)
		return out
	}
	return finding{spike: true}
}

// settled takes a value that is not odd: what was odd before it were spikes,
// or, where it is as near to them, a small step.
func (h *hampel) settled(x, last, least float64) finding {
	var out finding
	if n := len(h.odd); n > 0 && math.Abs(x-h.odd[n-1]) <= least {
		out = finding{stepped: true, from: last, first: h.odd[0], within: h.took}
	} else {
		out.lone = n
	}
	h.believe(x)
	return out
}

// believe takes a value among the neighbours; what was odd was a spike.
func (h *hampel) believe(x float64) {
	if len(h.window) == hampelWindow {
		copy(h.window, h.window[1:])
		h.window = h.window[:hampelWindow-1]
	}
	h.window = append(h.window, x)
	h.odd, h.apart = h.odd[:0], 0
	h.home.take(x)
}

// agrees counts the newest outliers that x bears out: on the same side of the
// centre, and near one another or ever further out.
func (h *hampel) agrees(x, centre float64) int {
	n := 0
	for _, y := range slices.Backward(h.odd) {
		out, before := x-centre, y-centre
		if out*before < 0 || math.Abs(out-before) > math.Abs(before)/2 && math.Abs(out) < math.Abs(before) {
			break
		}
		n++
		x = y
	}
	return n
}

// spread is how far from the centre a neighbour may lie.
func (h *hampel) spread(centre float64) float64 {
	var apart [hampelWindow]float64
	n := copy(apart[:], h.window)
	for i := range n {
		apart[i] = math.Abs(apart[i] - centre)
	}
	return hampelSigmas * madToSigma * median(apart[:n])
}

// centre is the median of what was believed last; false: there is too little.
func (h *hampel) centre() (float64, bool) {
	return median(h.window), len(h.window) >= hampelFewest
}

// median gives that of a few values, which it leaves as they are; 0 of none.
func median(values []float64) float64 {
	var some [hampelWindow]float64
	n := copy(some[:], values)
	if n == 0 {
		return 0
	}
	slices.Sort(some[:n])
	return (some[(n-1)/2] + some[n/2]) / 2
}

// homeFor is how long a level that was left is still known. Judgement.
const homeFor = time.Hour

// A span is the range of a value over the last one to two homeFor.
type span struct {
	now, before bounds
	age         time.Duration
}

type bounds struct {
	low, high float64
	any       bool
}

func (b *bounds) take(x float64) {
	if !b.any {
		*b = bounds{x, x, true}
	}
	b.low, b.high = min(b.low, x), max(b.high, x)
}

func (b bounds) holds(x float64) bool { return b.any && x >= b.low && x <= b.high }

func (s *span) take(x float64) { s.now.take(x) }

func (s *span) fade(since time.Duration) {
	s.age += since
	if s.age > homeFor {
		s.before, s.now, s.age = s.now, bounds{}, 0
	}
}

func (s *span) holds(x float64) bool { return s.now.holds(x) || s.before.holds(x) }
