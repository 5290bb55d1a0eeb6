package incubation

// A Doubt is one reason why an estimate is not surer.
type Doubt string

// The doubts that a keeper can do something about.
const (
	OfProbe    Doubt = "probe"    // the thermometer may be off
	OfPosition Doubt = "position" // it does not lie where the egg does
	OfGaps     Doubt = "gaps"     // stretches without readings
	OfPlan     Doubt = "plan"     // what is still to come
	OfLaying   Doubt = "laying"   // when the egg was laid
)

// A Narrowing is the estimate as it would be if one doubt were gone. What is
// left over all of them is what the literature does not know.
type Narrowing struct {
	Without Doubt     `json:"without"`
	Sex     Sex       `json:"sex"` // without words
	Hatch   HatchSpan `json:"hatch"`
}

// Narrowings gives the estimate without each doubt in turn. Nil where there is
// neither a record nor a plan.
func (t *Track) Narrowings(q Question) []Narrowing {
	q.Holds = false
	var out []Narrowing
	for _, d := range []Doubt{OfProbe, OfPosition, OfGaps, OfPlan, OfLaying} {
		sure := t.Freeze()
		sure.without = d
		o, ok := sure.look(q)
		if !ok {
			return nil
		}
		e := o.outcome(0, q)
		out = append(out, Narrowing{Without: d, Sex: e.Sex, Hatch: e.Hatch})
	}
	return out
}

// doubts is 1, or 0 where the doubt is put aside.
func (t *Track) doubts(d Doubt) float64 {
	if t.without == d {
		return 0
	}
	return 1
}

// laidOn is the day the i-th member's egg was laid.
func (t *Track) laidOn(m *Member) float64 {
	if t.without == OfLaying {
		return t.laying / 2
	}
	return m.Laid * t.laying
}
