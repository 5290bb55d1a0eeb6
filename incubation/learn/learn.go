package learn

import (
	"errors"
	"math"
	"slices"

	"clutchd/incubation"
)

const (
	// Enough is how many independent members must be left for reweighting
	// alone; with fewer, others are drawn anew near those that are left. Of an
	// ensemble of less than a thousand, a tenth.
	Enough = 100
	// fewest is the least that an ensemble must have for that: of fewer, their
	// spread says too little of what else is plausible. Judgement.
	fewest = 200
	// Most is how many clutches are learned from, the latest that ended: some
	// seasons of a small breeder. More would take minutes and say what the
	// others do; the probes and cabinets of long ago are gone. Judgement.
	Most = 150
)

// enough reports whether so many effective members of an ensemble will do.
func enough(effective float64, e *incubation.Ensemble) bool {
	n := len(e.Members)
	return n < fewest || effective >= min(Enough, float64(n)/10)
}

// A Result is an ensemble that has seen what hatched.
type Result struct {
	Ensemble *incubation.Ensemble
	// Clutches, Hatches and Sexes are how much it has seen.
	Clutches, Hatches, Sexes int
	// Effective is how many independent members of the ensemble that ships
	// were left (Kish 1965); Renewed says that others were drawn.
	Effective float64
	Renewed   bool
}

// ErrStopped is returned where the caller wanted no more of it.
var ErrStopped = errors.New("stopped")

// A Class is who learns: the ensemble that ships, and when to give up.
type Class struct {
	Base *incubation.Ensemble
	// Stop is asked now and then, and ends the work when it says true. Nil:
	// never.
	Stop func() bool
}

// stopped reports whether to give up.
func (p Class) stopped() bool { return p.Stop != nil && p.Stop() }

// From learns from clutches of which at least one egg has ended, the latest
// Most of them. Without any it gives the ensemble itself. Outcomes that no
// member can explain count for nothing. The same clutches give the same
// result, in whatever order.
func (p Class) From(clutches []Clutch) (Result, error) {
	clutches = ordered(clutches)
	out := count(p.Base, clutches)
	if out.Clutches == 0 {
		return out, nil
	}
	c := newLecture(p, clutches)
	weights := shares(sums(c.tables()))
	out.Effective = Effective(weights)
	if enough(out.Effective, p.Base) {
		out.Ensemble = c.resampled(weights)
		return out, nil
	}
	renewed, err := c.renewed(weights)
	if p.stopped() {
		return out, ErrStopped
	}
	if err != nil {
		return out, err
	}
	out.Ensemble, out.Renewed = renewed, true
	return out, nil
}

// ordered gives the latest Most of the clutches, by when they ended.
func ordered(clutches []Clutch) []Clutch {
	out := slices.Clone(clutches)
	slices.SortFunc(out, func(a, b Clutch) int {
		if d := a.Ended().Compare(b.Ended()); d != 0 {
			return d
		}
		if a.ID < b.ID {
			return -1
		}
		return 1
	})
	return out[max(0, len(out)-Most):]
}

func count(base *incubation.Ensemble, clutches []Clutch) Result {
	out := Result{Ensemble: base, Effective: float64(len(base.Members))}
	for _, c := range clutches {
		told := false
		for _, e := range c.Eggs {
			told = told || e.Track != nil && !e.at().IsZero()
			if !e.By.IsZero() {
				out.Hatches++
			}
			if e.Sex != "" {
				out.Sexes++
			}
		}
		out.Sexes += c.Mixed.Males + c.Mixed.Females
		if told {
			out.Clutches++
		}
	}
	return out
}

// A lecture is an ensemble and what it is to learn from.
type lecture struct {
	Class
	lessons []lesson
	probes  []string // that were heard, sorted
	errors  map[string][]float64
}

func newLecture(class Class, clutches []Clutch) *lecture {
	c := &lecture{Class: class, lessons: lessons(clutches, class.Base.Profile)}
	heard := map[string]bool{}
	for _, clutch := range clutches {
		for _, e := range clutch.Eggs {
			if e.Track == nil {
				continue
			}
			for _, id := range e.Track.ProbesHeard() {
				heard[id] = true
			}
		}
	}
	for id := range heard {
		c.probes = append(c.probes, id)
	}
	slices.Sort(c.probes)
	c.errors = c.Base.Errors(c.probes)
	return c
}

// tables gives, by clutch and member, the logarithm of how likely the outcome
// is.
func (c *lecture) tables() [][]float64 {
	out := make([][]float64, len(c.lessons))
	for k := range c.lessons {
		out[k] = make([]float64, len(c.Base.Members))
	}
	for i := range c.Base.Members {
		g := c.Base.Guess(i, c.errors)
		for k := range c.lessons {
			out[k][i] = c.lessons[k].told(&g)
		}
	}
	return out
}

// sums adds tables up by member.
func sums(tables [][]float64) []float64 {
	out := make([]float64, len(tables[0]))
	for _, table := range tables {
		for i, l := range table {
			out[i] += l
		}
	}
	return out
}

// shares turns logarithms of weights into weights that add to 1.
func shares(logs []float64) []float64 {
	most := slices.Max(logs)
	out := make([]float64, len(logs))
	sum := 0.0
	for i, l := range logs {
		if w := math.Exp(l - most); !math.IsNaN(w) {
			out[i] = w
			sum += w
		}
	}
	for i := range out {
		if sum == 0 {
			out[i] = 1 / float64(len(out))
			continue
		}
		out[i] /= sum
	}
	return out
}

// Effective is how many equal weights tell as much (Kish 1965).
func Effective(weights []float64) float64 {
	sum, squares := 0.0, 0.0
	for _, w := range weights {
		sum += w
		squares += w * w
	}
	return sum * sum / squares
}

// resampled gives each member as often as its weight says, by systematic
// resampling: evenly spaced steps through the heap of weights.
func (c *lecture) resampled(weights []float64) *incubation.Ensemble {
	n := len(c.Base.Members)
	var picked []incubation.Guess
	at, k := weights[0], 0
	for i := range n {
		for want := (float64(i) + 0.5) / float64(n); at < want && k < n-1; {
			k++
			at += weights[k]
		}
		picked = append(picked, c.Base.Guess(k, c.errors))
	}
	return c.assembled(picked)
}

// assembled makes an ensemble of guesses. What belongs to one egg is dealt
// anew; where eggs lie against their probes, and what the probes err by, is
// what was learned.
func (c *lecture) assembled(guesses []incubation.Guess) *incubation.Ensemble {
	members := make([]incubation.Member, len(guesses))
	for i, g := range guesses {
		members[i] = g.Member
	}
	out := incubation.Assemble(c.Base.Profile, members)
	out.Probes = map[string][]float64{}
	for _, id := range c.probes {
		out.Probes[id] = make([]float64, len(guesses))
		for i, g := range guesses {
			out.Probes[id][i] = g.Probes[id]
		}
	}
	for i, g := range guesses {
		out.Members[i].Position = g.Member.Position
	}
	return out
}
