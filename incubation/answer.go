package incubation

import "math"

// An Answer is an estimate, and what each member of the ensemble said.
type Answer struct {
	Estimate
	// Plans are what the plans asked about beside would give, in their order.
	Plans []Outcome
	// Chances of a male and days from the earliest laying to the hatch, by
	// member; +Inf: never as things stand. Nil where there was nothing to go by.
	Chances, HatchDays []float64
	// TSPOpens and TSPCloses are days from the earliest laying, by member too but
	// smallest first; +Inf: never.
	TSPOpens, TSPCloses []float64
	ensemble            *Ensemble
}

// Estimate says what the record means for the egg at the time asked, and
// where it leads. It does not change the track. The zero estimate, but for
// its words, comes back where there is neither a record nor a plan.
func (t *Track) Estimate(q Question) Estimate { return t.Ask(q).Estimate }

// Ask is Estimate with the members' own chances, and with what other plans
// would give beside it.
func (t *Track) Ask(q Question, beside ...[]Step) Answer {
	a := Answer{ensemble: t.ensemble, Estimate: Estimate{Sex: Sex{Words: "nothing to go by yet"}}}
	o, ok := t.look(q, beside...)
	if !ok {
		return a
	}
	n := len(o.members)
	opens, closes := make([]float64, n), make([]float64, n)
	medians, sds := make([]float64, n), make([]float64, n)
	for i := range o.members {
		m := &o.members[i]
		opens[i], closes[i], medians[i], sds[i] = ever(m.opens), ever(m.closes), m.median, m.sd
	}
	a.Chances, a.HatchDays = o.chances(0), o.hatchDays(0)
	a.TSPOpens, a.TSPCloses = sampleOf(opens), sampleOf(closes)
	a.Estimate = Estimate{
		Development: o.development(),
		TSP:         o.tsp(a.TSPOpens, a.TSPCloses),
		Sex:         sexOf(o.chances(0)),
		Hatch:       o.hatch(o.hatches(0), q),
		Basis:       o.basis(),
	}
	if t.harm.Any() {
		h := t.harm
		a.Harm = &h
	}
	if a.TSP.State != TSPBefore || len(q.Plan) > 0 {
		a.CTE = cteOf(sampleOf(medians))
	}
	a.Sex.Words = words(a.TSP.State, a.Sex, average(sds) > variedSD)
	if a.TSP.Opens.IsZero() {
		a.Sex.Low, a.Sex.High, a.Sex.Words = 0, 1, standstill
	}
	a.HoldFromNow = o.holds(q)
	for f := len(o.futures) - len(beside); f < len(o.futures); f++ {
		a.Plans = append(a.Plans, o.outcome(f, q))
	}
	return a
}

func (o *outlook) chances(f int) []float64 {
	out := make([]float64, len(o.fates[f]))
	for i, e := range o.fates[f] {
		out[i] = e.chance
	}
	return out
}

func (o *outlook) hatches(f int) sample { return sampleOf(o.hatchDays(f)) }

func (o *outlook) hatchDays(f int) []float64 {
	out := make([]float64, len(o.fates[f]))
	for i, e := range o.fates[f] {
		out[i] = ever(e.hatches)
	}
	return out
}

// ever makes a time that has not come one that never does.
func ever(day float64) float64 {
	if day == 0 {
		return math.Inf(1)
	}
	return day
}

func (o *outlook) development() Span {
	values := make([]float64, len(o.members))
	for i := range values {
		values[i] = min(o.members[i].done, 1)
	}
	s := sampleOf(values)
	return Span{Fraction: s.at(0.5), Low: s.at(lowPoint), High: s.at(highPoint)}
}

func (o *outlook) tsp(opens, closes sample) TSP {
	shares := make([]float64, len(o.members))
	opened, closed := 0, 0
	for i := range o.members {
		m, c := &o.track.ensemble.Members[i], &o.members[i].course
		shares[i] = c.inside(m) / (m.End - m.Start)
		if c.opens != 0 {
			opened++
		}
		if c.closes != 0 {
			closed++
		}
	}
	out := TSP{
		State: TSPBefore, Done: sampleOf(shares).at(0.5),
		Opens: o.date(opens.at(0.5)), Closes: o.date(closes.at(0.5)),
		LastChange: o.date(o.earlyEdge()),
	}
	switch half := len(o.members) / 2; {
	case closed > half:
		out.State = TSPClosed
	case opened > half:
		out.State = TSPOpen
	}
	return out
}

// earlyEdge is the 5 % point of the members' last day of a change, over those
// that know of one; 0 where most do not.
func (o *outlook) earlyEdge() float64 {
	days := sampleOf(append([]float64(nil), o.changes...))
	none := days.above(math.MaxFloat64)
	if days = days[:len(days)-len(none)]; len(days) <= len(none) {
		return 0
	}
	return days.at(lowPoint)
}

// basis shares the TSP's development out by what is known of it.
func (o *outlook) basis() Basis {
	var out Basis
	for i := range o.members {
		m, c := &o.track.ensemble.Members[i], &o.members[i].course
		whole := m.End - m.Start
		out.Gap += c.gap / whole
		out.Measured += (c.inside(m) - c.gap) / whole
	}
	n := float64(len(o.members))
	out.Gap /= n
	out.Measured = max(out.Measured/n, 0)
	out.Projected = max(1-out.Measured-out.Gap, 0)
	return out
}

// sexOf sorts chances. A mean beyond the interval, as of a few members that
// differ much, widens it.
func sexOf(chances []float64) Sex {
	mean := average(chances)
	s := sampleOf(chances)
	return Sex{
		MaleProbability: mean,
		Low:             min(s.at(lowPoint), mean), High: max(s.at(highPoint), mean),
	}
}

func cteOf(s sample) *CTE {
	return &CTE{
		Value: Celsius(s.at(0.5)), Low: Celsius(s.at(lowPoint)), High: Celsius(s.at(highPoint)),
	}
}

// Temperatures of hold_from_now: from where development is slow but safe to
// where nearly all turn female again, °C.
const (
	holdFrom = 26.0
	holdTo   = 34.0
	holdStep = 0.5
	holds    = 17 // how many
)

func (o *outlook) holds(q Question) []Hold {
	if !q.Holds {
		return nil
	}
	var out []Hold
	for f := 1; f <= holds; f++ {
		e := o.outcome(f, q)
		out = append(out, Hold{
			Celsius: Celsius(o.futures[f][0].celsius), MaleProbability: e.Sex.MaleProbability,
			Low: e.Sex.Low, High: e.Sex.High, HatchLikely: e.Hatch.Likely,
		})
	}
	return out
}

func (o *outlook) outcome(f int, q Question) Outcome {
	return Outcome{Sex: sexOf(o.chances(f)), Hatch: o.hatch(o.hatches(f), q)}
}
