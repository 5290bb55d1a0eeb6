package incubation

import (
	"math"
	"math/rand/v2"
)

// DefaultMembers is how many plausible parameter sets an estimate is made
// under unless someone says otherwise.
const DefaultMembers = 1000

// A Summary is a way to make one temperature or chance of a varying record.
// Which of the three holds for a two-sided species nobody has measured: a
// third of the members believes in each.
type Summary uint8

// The summaries, over the TSP and weighted by development.
const (
	ByMean   Summary = iota // the chance at the mean temperature
	ByMedian                // the chance at the median: the CTE of Georges 1989
	ByChance                // the mean of the chances
	summaries
)

// A Member is one plausible set of everything that is not known for sure.
type Member struct {
	// Seed tells members apart where something is drawn for them later, such
	// as the error of a probe. Members that share a Seed share those too.
	Seed uint64
	// Growth, see Rate.
	Zero      float64 // °C
	PerDegree float64 // development a day for each K above Zero
	Bend      float64 // °C
	Brake     float64 // development a day, per K² above Bend
	// Start and End of the TSP, and where this egg hatches, in development.
	Start, End, Hatch float64
	Rising, Falling   Flank
	Clutch            float64 // correlation between siblings, 0 to under 1
	Rule              Summary
	// Standard normal: the egg against its probe, the future against the plan.
	Position, Plan float64
	// Laid is where in the laying interval the egg was laid, 0 to 1.
	Laid float64
}

// A Flank is one limb of a member's sex curve. Its zero value is no limb.
type Flank struct {
	Pivotal float64 // °C
	Slope   float64 // K
}

// An Ensemble is the plausible parameter sets that an estimate is made under,
// each as plausible as the next. It is not changed once made, and may serve
// any number of tracks.
type Ensemble struct {
	Members []Member
	Profile Profile
}

// Draw makes an ensemble of n members of a profile; 0 or less means
// DefaultMembers. The same profile and n give the same ensemble. Each number
// is stratified: its n values are spread evenly over its distribution and
// dealt to the members at random.
func Draw(p Profile, n int) *Ensemble {
	if n <= 0 {
		n = DefaultMembers
	}
	d := deck{rng: rand.New(rand.NewPCG(0x636c75746368, 0x64)), n: n}
	e := &Ensemble{Members: make([]Member, n), Profile: p}
	e.drawGrowth(&d)
	e.drawSex(&d)
	position, plan, laid := d.deal(), d.deal(), d.deal()
	for i := range e.Members {
		m := &e.Members[i]
		m.Seed = mix(uint64(i) + 1)
		m.Position, m.Plan = position[i], plan[i]
		m.Laid = cumulative(laid[i])
	}
	return e
}

func (e *Ensemble) drawGrowth(d *deck) {
	p := e.Profile.Development
	zero, anchor, days, bend := d.deal(), d.deal(), d.deal(), d.deal()
	peak, hatch, start, end := d.deal(), d.deal(), d.deal(), d.deal()
	for i := range e.Members {
		m := &e.Members[i]
		at := p.Anchor.At(anchor[i])
		m.Zero = min(p.Zero.At(zero[i]), at-0.5)
		degreeDays := max(p.AnchorDays.At(days[i]), 1) * (at - m.Zero)
		m.PerDegree = 1 / degreeDays
		m.Bend = max(p.Bend.At(bend[i]), at)
		m.Brake = m.PerDegree / (2 * max(p.Peak.At(peak[i]), 0.1))
		m.Hatch = max(1+hatch[i]*p.EggSpread.Value, 0.5)
		m.Start = max(e.Profile.TSP.Start.At(start[i]), 1e-3)
		m.End = max(e.Profile.TSP.End.At(end[i]), m.Start+1e-3)
		m.Hatch = max(m.Hatch, m.End)
	}
}

func (e *Ensemble) drawSex(d *deck) {
	p := e.Profile.Sex
	laboratory, clutch := d.deal(), d.deal()
	// Every column is dealt whether the species has the limb or not.
	rising, steep, falling, sloping := d.deal(), d.deal(), d.deal(), d.deal()
	for i := range e.Members {
		m := &e.Members[i]
		shift := laboratory[i] * p.Laboratory.Value
		if p.Rising != nil {
			m.Rising = p.Rising.flank(rising[i], steep[i], shift)
		}
		if p.Falling != nil {
			m.Falling = p.Falling.flank(falling[i], sloping[i], shift)
		}
		m.Clutch = min(max(p.Clutch.At(clutch[i]), 0), 0.95)
		m.Rule = Summary(i % int(summaries))
	}
}

func (l Limb) flank(pivotal, slope, shift float64) Flank {
	return Flank{
		Pivotal: l.Pivotal.At(pivotal) + shift,
		Slope:   max(l.Slope.At(slope), 0.01),
	}
}

// A deck deals standard normal numbers in even strata.
type deck struct {
	rng *rand.Rand
	n   int
}

func (d *deck) deal() []float64 {
	out := make([]float64, d.n)
	for i, k := range d.rng.Perm(d.n) {
		out[i] = quantileNormal((float64(k) + 0.5) / float64(d.n))
	}
	return out
}

// mix spreads the bits of x: equal for equal x, else as good as random.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// normals gives each member a standard normal number that belongs to a cause
// outside the ensemble, such as a probe: the same for the same member and
// cause, independent between causes.
func (e *Ensemble) normals(cause uint64) []float64 {
	out := make([]float64, len(e.Members))
	for i := range e.Members {
		bits := mix(e.Members[i].Seed ^ mix(cause))
		out[i] = quantileNormal((float64(bits>>11) + 0.5) / (1 << 53))
	}
	return out
}

// quantileNormal is the inverse of cumulative.
func quantileNormal(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// cumulative is the standard normal distribution function.
func cumulative(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
