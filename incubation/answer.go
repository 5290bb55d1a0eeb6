package incubation

import "math"

// Estimate says what the record means for the egg at the time asked, and
// where it leads. It does not change the track. The zero estimate, but for
// its words, comes back where there is neither a record nor a plan.
func (t *Track) Estimate(q Question) Estimate {
	o, ok := t.look(q)
	if !ok || len(t.eggs) == 0 {
		return Estimate{Sex: Sex{Words: "nothing to go by yet"}}
	}
	n := len(o.eggs)
	opens, closes, hatches := make([]float64, n), make([]float64, n), make([]float64, n)
	chances, medians, sds := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range o.eggs {
		v := o.see(i, o.future, true)
		opens[i], closes[i], hatches[i] = ever(v.opens), ever(v.closes), ever(v.hatches)
		chances[i], medians[i], sds[i] = v.chance, v.median, v.sd
	}
	out := Estimate{
		Development: o.development(),
		TSP:         o.tsp(sampleOf(opens), sampleOf(closes)),
		Sex:         sexOf(chances),
		Hatch:       o.hatch(sampleOf(hatches), q),
		Basis:       o.basis(),
	}
	if out.TSP.State != TSPBefore || len(q.Plan) > 0 {
		out.CTE = cteOf(sampleOf(medians))
	}
	out.Sex.Words = words(out.TSP.State, out.Sex, average(sds) > variedSD)
	if out.TSP.Opens.IsZero() {
		out.Sex.Low, out.Sex.High, out.Sex.Words = 0, 1, standstill
	}
	if q.Holds {
		out.HoldFromNow = o.holds(q)
	}
	return out
}

// Chances gives the chance of a male under each member, in the ensemble's
// order: what learning from a hatchling weighs members by. Nil where there is
// neither a record nor a plan.
func (t *Track) Chances(q Question) []float64 {
	o, ok := t.look(q)
	if !ok {
		return nil
	}
	out := make([]float64, len(o.eggs))
	for i := range out {
		out[i] = o.see(i, o.future, false).chance
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
	values := make([]float64, len(o.eggs))
	for i := range values {
		values[i] = min(o.eggs[i].done, 1)
	}
	s := sampleOf(values)
	return Span{Fraction: s.at(0.5), Low: s.at(lowPoint), High: s.at(highPoint)}
}

func (o *outlook) tsp(opens, closes sample) TSP {
	shares := make([]float64, len(o.eggs))
	opened, closed := 0, 0
	for i := range o.eggs {
		m, c := &o.track.ensemble.Members[i], &o.eggs[i].course
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
		ClosesEarly: o.date(closes.at(lowPoint)),
	}
	switch half := len(o.eggs) / 2; {
	case closed > half:
		out.State = TSPClosed
	case opened > half:
		out.State = TSPOpen
	}
	return out
}

// basis shares the TSP's development out by what is known of it.
func (o *outlook) basis() Basis {
	var out Basis
	for i := range o.eggs {
		m, c := &o.track.ensemble.Members[i], &o.eggs[i].course
		whole := m.End - m.Start
		out.Gap += c.gap / whole
		out.Measured += (c.inside(m) - c.gap) / whole
	}
	n := float64(len(o.eggs))
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
)

func (o *outlook) holds(q Question) []Hold {
	var out []Hold
	n := len(o.eggs)
	for c := holdFrom; c <= holdTo; c += holdStep {
		future := []stretch{o.hold(c, o.now)}
		chances, hatches := make([]float64, n), make([]float64, n)
		for i := range o.eggs {
			v := o.see(i, future, false)
			chances[i], hatches[i] = v.chance, ever(v.hatches)
		}
		sex, hatch := sexOf(chances), o.hatch(sampleOf(hatches), q)
		out = append(out, Hold{
			Celsius: Celsius(c), MaleProbability: sex.MaleProbability,
			Low: sex.Low, High: sex.High, HatchLikely: hatch.Likely,
		})
	}
	return out
}
