package incubation

import "math/rand/v2"

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
	// Number tells members apart where something is drawn for them later,
	// such as the error of a probe: two with the same number share those too.
	// It is from 0 to the ensemble's Drawn.
	Number int
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
	// Asymmetry, or Below and Above, skew it: see Limb. Zero: straight.
	Asymmetry, Below, Above float64
}

// An Ensemble is the plausible parameter sets that an estimate is made under,
// each as plausible as the next. It is not changed once made, and may serve
// any number of tracks.
type Ensemble struct {
	Members []Member
	Profile Profile
	// Drawn is how many members there were when it was drawn, whatever
	// learning made of them since; 0: as many as there are.
	Drawn int
	// Probes holds members' errors of probes that outcomes have told of, in
	// units of the probe's sd. Another probe's are drawn for its name.
	Probes map[string][]float64
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
	e := &Ensemble{Members: make([]Member, n), Profile: p, Drawn: n}
	e.drawGrowth(&d)
	e.drawSex(&d)
	e.drawEgg(&d)
	return e
}

// Assemble makes an ensemble of members that a fit found together: their
// growth, TSP, sex curves, clutch correlation and rule are taken as they are.
// What belongs to one egg and its record, Hatch, Position, Plan and Laid, is
// dealt as Draw deals it: no published value speaks of that. The same profile
// and members give the same ensemble.
func Assemble(p Profile, fitted []Member) *Ensemble {
	n := len(fitted)
	d := deck{rng: rand.New(rand.NewPCG(0x636c75746368, 0x65)), n: n}
	e := &Ensemble{Members: append([]Member(nil), fitted...), Profile: p, Drawn: n}
	hatch := d.deal()
	for i := range e.Members {
		e.Members[i].hatchAt(hatch[i], p.Development.EggSpread.Value)
	}
	e.drawEgg(&d)
	return e
}

// drawEgg numbers the members and deals what belongs to one egg's record.
func (e *Ensemble) drawEgg(d *deck) {
	position, plan, laid := d.deal(), d.deal(), d.deal()
	for i := range e.Members {
		m := &e.Members[i]
		m.Number = i
		m.Position, m.Plan = position[i], plan[i]
		m.Laid = cumulative(laid[i])
	}
}

// hatchAt sets where the egg hatches, z sd off the middle.
func (m *Member) hatchAt(z, sd float64) { m.Hatch = max(1+z*sd, 0.5, m.End) }

func (e *Ensemble) drawGrowth(d *deck) {
	p := e.Profile.Development
	zero, anchor, days, bend := d.deal(), d.deal(), d.deal(), d.deal()
	peak, hatch, start, end := d.deal(), d.deal(), d.deal(), d.deal()
	for i := range e.Members {
		m := &e.Members[i]
		at := p.Anchor.At(anchor[i])
		m.Grow(Growth{
			Zero: min(p.Zero.At(zero[i]), at-0.5), Anchor: at, Days: max(p.AnchorDays.At(days[i]), 1),
			Bend: max(p.Bend.At(bend[i]), at), Peak: max(p.Peak.At(peak[i]), 0.1),
		})
		m.Start = max(e.Profile.TSP.Start.At(start[i]), 1e-3)
		m.End = max(e.Profile.TSP.End.At(end[i]), m.Start+1e-3)
		m.hatchAt(hatch[i], p.EggSpread.Value)
	}
}

func (e *Ensemble) drawSex(d *deck) {
	p := e.Profile.Sex
	laboratory, clutch := d.deal(), d.deal()
	rising, falling := p.Rising.deal(d), p.Falling.deal(d)
	for i := range e.Members {
		m := &e.Members[i]
		shift := laboratory[i] * p.Laboratory.Value
		m.Rising = p.Rising.flank(rising, i, shift)
		m.Falling = p.Falling.flank(falling, i, shift)
		m.Clutch = min(max(p.Clutch.At(clutch[i]), 0), 0.95)
		m.Rule = Summary(i % int(summaries))
	}
}

// deal gives the columns that a limb's numbers are drawn by.
func (l *Limb) deal(d *deck) [5][]float64 {
	var out [5][]float64
	if l == nil {
		return out
	}
	for k := range out {
		out[k] = d.deal()
	}
	return out
}

// flank is the limb of the i-th member, shifted by K; none if there is none.
func (l *Limb) flank(z [5][]float64, i int, shift float64) Flank {
	if l == nil {
		return Flank{}
	}
	f := Flank{Pivotal: l.Pivotal.At(z[0][i]) + shift, Slope: max(l.Slope.At(z[1][i]), 0.01)}
	if l.Asymmetry != nil {
		f.Asymmetry = l.Asymmetry.At(z[2][i])
	}
	if l.Below != nil && l.Above != nil {
		f.Below = max(l.Below.At(z[3][i]), 0.1)
		f.Above = max(l.Above.At(z[4][i]), 0.1)
	}
	return f
}
