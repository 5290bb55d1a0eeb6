package incubation_test

import (
	"flag"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
)

// clutches is for the figures of DEVELOPERS.md: -run Coverage -clutches 1000.
var clutches = flag.Int("clutches", 0, "simulated clutches in each condition; 0: a few")

func simulated() int {
	switch {
	case *clutches > 0:
		return *clutches
	case testing.Short() || raced:
		return 12
	}
	return 30
}

// A condition is a world, a kind of keeper in it, and what must hold there.
type condition struct {
	name   string
	world  world
	keeper func(rng *rand.Rand) keeper
	// anyTemperature says that keepers choose as they like, so that there is
	// something to tell of the sexes.
	anyTemperature bool
	// hatch, weighted and sexes are the least shares of truths inside the
	// intervals of hatch and development, of the CTE, and of the chance of a male.
	hatch, weighted, sexes float64
	// skill is the most that the Brier score may be of its baseline.
	skill float64
	// calibrated is how far, in standard deviations, what hatched may be from
	// what was said; 0: not looked at.
	calibrated float64
	breaks     string // what breaks here, and why; "" nothing
}

// A score says how often a 5 to 95 % interval held the truth, and how wide it
// was on average.
type score struct {
	n, inside int
	width     float64
}

func (s *score) take(low, truth, high float64) {
	s.n++
	if low <= truth && truth <= high {
		s.inside++
	}
	s.width += high - low
}

func (s *score) join(other score) {
	s.n += other.n
	s.inside += other.inside
	s.width += other.width
}

func (s *score) share() float64 { return float64(s.inside) / float64(s.n) }
func (s *score) mean() float64  { return s.width / float64(s.n) }

// A tally is what a condition came to.
type simTally struct {
	condition
	early, late score // hatch window: three weeks in; ten days before. Days
	grown       score // development three weeks in
	cte         score // K
	chance      score // the sex interval against the chance in that world
	sex         forecasts
	pairs       pairs
}

func seedOf(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return h.Sum64()
}

// run simulates n keepers with a clutch each, and lets an ensemble estimate.
func (c condition) run(t testing.TB, e *incubation.Ensemble, n int) *simTally {
	t.Helper()
	out := &simTally{condition: c}
	for i := range n {
		rng := rand.New(rand.NewPCG(seedOf(c.name), uint64(i)))
		k := c.keeper(rng)
		b := k.clutch(t, c.world(rng), day0.Add(8*time.Hour), rng)
		eggs, males := b.watch(t, e)
		out.take(b, eggs, males)
	}
	return out
}

func (s *simTally) take(b brood, eggs []watched, males []float64) {
	since := func(at time.Time) float64 {
		if at.IsZero() {
			return math.Inf(1)
		}
		return at.Sub(b.laid.From).Hours() / 24
	}
	count, chances := 0, []float64(nil)
	for n, e := range eggs {
		early, late := e.early.Hatch, e.late.Hatch
		s.early.take(since(early.Earliest), e.hatched, since(early.Latest))
		s.late.take(since(late.Earliest), e.hatched, since(late.Latest))
		s.grown.take(e.early.Development.Low, e.grown[21], e.early.Development.High)
		s.cte.take(float64(e.late.CTE.Low), e.median, float64(e.late.CTE.High))
		s.chance.take(e.late.Sex.Low, e.chance, e.late.Sex.High)
		s.sex.take(n == 0, e.late.Sex.MaleProbability, e.male)
		chances = append(chances, e.late.Sex.MaleProbability)
		if e.male {
			count++
		}
	}
	s.pairs.take(males, count, chances...)
}

// add pools another tally's clutches with this one's.
func (s *simTally) add(other *simTally) {
	s.early.join(other.early)
	s.late.join(other.late)
	s.grown.join(other.grown)
	s.cte.join(other.cte)
	s.chance.join(other.chance)
	s.sex.all = append(s.sex.all, other.sex.all...)
	s.sex.first = append(s.sex.first, other.sex.first...)
	s.pairs.join(other.pairs)
}

// least gives the fewest of n that a share p makes believable: fewer come one
// time in a thousand.
func least(n int, p float64) int {
	sum := 0.0
	for k, c := range binomial(n, p) {
		if sum += c; sum > 1e-3 {
			return k
		}
	}
	return n
}

const tableHead = "| world: condition | hatch, 3 weeks in | hatch, 10 days before | development | CTE " +
	"| sex interval | males said, came | Brier (baseline) | log (baseline) | pairs, log (coins, baseline) |\n" +
	"|---|---|---|---|---|---|---|---|---|---|"

// row prints the tally: shares inside and mean widths, then the scores.
func (s *simTally) row() string {
	var w strings.Builder
	fmt.Fprintf(&w, "| %s", s.name)
	for _, x := range []struct {
		s     score
		width string
	}{{s.early, "%.1f d"}, {s.late, "%.1f d"}, {s.grown, "%.3f"}, {s.cte, "%.2f K"}, {s.chance, "%.2f"}} {
		fmt.Fprintf(&w, " | %.0f %%, "+x.width, 100*x.s.share(), x.s.mean())
	}
	fmt.Fprintf(&w, " | %.2f, %.2f | %.3f (%.3f) | %.3f (%.3f) | %.3f (%.3f, %.3f) |",
		s.sex.said(), s.sex.share(), s.sex.brier(), s.sex.brierBaseline(), s.sex.log(),
		s.sex.logBaseline(), s.pairs.log(), s.pairs.coins(), s.pairs.baseline())
	return w.String()
}
