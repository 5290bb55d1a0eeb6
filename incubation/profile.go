package incubation

import (
	"errors"
	"fmt"
	"strings"
)

// A Profile is one species: every number that an estimate is made of. It is a
// data file; see package species.
type Profile struct {
	Species     string         `json:"species"` // its scientific name
	Name        string         `json:"name"`
	Development DevelopmentSet `json:"development"`
	TSP         TSPSet         `json:"tsp"`
	Sex         SexSet         `json:"sex"`
	Record      RecordSet      `json:"record"`
	Limits      LimitSet       `json:"limits"`
}

// DevelopmentSet is how fast an embryo grows at a temperature: nothing below
// zero, then along a straight line through the anchor, then bending down.
type DevelopmentSet struct {
	Zero       Number `json:"zero_celsius"`
	Anchor     Number `json:"anchor_celsius"` // a temperature below Bend
	AnchorDays Number `json:"anchor_days"`    // from laying to hatching at the anchor
	Bend       Number `json:"bend_celsius"`   // where the line begins to bend
	Peak       Number `json:"peak_kelvin"`    // how far above Bend the rate is greatest
	EggSpread  Number `json:"egg_sd_ratio"`   // sd of development at hatching, egg to egg
	Pip        Number `json:"pip_days"`       // from the first hole in the shell to the hatch
}

// TSPSet is the stretch of development in which temperature sets sex.
type TSPSet struct {
	Start Number `json:"start_ratio"`
	End   Number `json:"end_ratio"`
}

// SexSet is the share of males at a constant temperature: the product of the
// limbs there are. Both: females, males, females with rising temperature.
type SexSet struct {
	Rising  *Limb `json:"rising,omitempty"`
	Falling *Limb `json:"falling,omitempty"`
	// Laboratory is the sd of both pivotal temperatures between laboratories,
	// and so between their animals, incubators and thermometers. K.
	Laboratory Number `json:"laboratory_kelvin"`
	// Clutch is how strongly the sexes of siblings go together beyond their
	// temperature: the correlation of what decides sex, 0 to under 1.
	Clutch Number `json:"clutch_correlation"`
}

// A Limb is one flank of the sex curve: 1/(1+exp((Pivotal−T)/Slope)), or its
// mirror image where it falls. It may be skewed, by Asymmetry as an A-logistic
// or by Below and Above as a flexit, of which Slope is a quarter of the inverse
// slope at Pivotal.
type Limb struct {
	Pivotal   Number  `json:"pivotal_celsius"`
	Slope     Number  `json:"slope_kelvin"`
	Asymmetry *Number `json:"asymmetry,omitempty"`
	Below     *Number `json:"flex_below,omitempty"`
	Above     *Number `json:"flex_above,omitempty"`
}

// RecordSet is how far a record may be from what the egg felt.
type RecordSet struct {
	Substrate    Number `json:"substrate_sd_kelvin"`     // egg against a probe beside it
	BoxAir       Number `json:"box_air_sd_kelvin"`       // egg against the air in its box
	IncubatorAir Number `json:"incubator_air_sd_kelvin"` // egg against the air around the box
	// Gap is how fast the unknown grows away from the last reading, K for the
	// first hour and with the root of time; GapMost is where it stops.
	Gap     Number `json:"gap_sd_kelvin"`
	GapMost Number `json:"gap_most_kelvin"`
	// Plan is the sd of what will be against what is planned.
	Plan Number `json:"plan_sd_kelvin"`
}

// position gives the sd of the egg against a probe in a position, K.
func (r RecordSet) position(p Position) float64 {
	switch p {
	case Substrate:
		return r.Substrate.Value
	case BoxAir:
		return r.BoxAir.Value
	}
	return r.IncubatorAir.Value
}

func (p Profile) figures() []figure {
	d, r := p.Development, p.Record
	out := []figure{
		{"development.zero_celsius", d.Zero, 0, 40},
		{"development.anchor_celsius", d.Anchor, 1, 45},
		{"development.anchor_days", d.AnchorDays, 5, 400},
		{"development.bend_celsius", d.Bend, 1, 45},
		{"development.peak_kelvin", d.Peak, 0.2, 20},
		{"development.egg_sd_ratio", d.EggSpread, 0, 0.25},
		{"development.pip_days", d.Pip, 0, 20},
		{"tsp.start_ratio", p.TSP.Start, 0.001, 0.9},
		{"tsp.end_ratio", p.TSP.End, 0.01, 0.95},
		{"sex.laboratory_kelvin", p.Sex.Laboratory, 0, 5},
		{"sex.clutch_correlation", p.Sex.Clutch, 0, 0.95},
		{"record.substrate_sd_kelvin", r.Substrate, 0, 10},
		{"record.box_air_sd_kelvin", r.BoxAir, 0, 10},
		{"record.incubator_air_sd_kelvin", r.IncubatorAir, 0, 10},
		{"record.gap_sd_kelvin", r.Gap, 0, 10},
		{"record.gap_most_kelvin", r.GapMost, 0, 20},
		{"record.plan_sd_kelvin", r.Plan, 0, 10},
		{"limits.high_celsius", p.Limits.High, 20, 50},
		{"limits.low_celsius", p.Limits.Low, 1, 40},
	}
	if h := p.Limits.Hatched; h != nil {
		out = append(out, figure{"limits.hatched_celsius", *h, 1, 45})
	}
	if l := p.Sex.Rising; l != nil {
		out = append(out, l.figures("sex.rising")...)
	}
	if l := p.Sex.Falling; l != nil {
		out = append(out, l.figures("sex.falling")...)
	}
	return out
}

func (l Limb) figures(name string) []figure {
	out := []figure{
		{name + ".pivotal_celsius", l.Pivotal, 1, 45},
		{name + ".slope_kelvin", l.Slope, 0.01, 5},
	}
	for _, f := range []struct {
		name  string
		n     *Number
		least float64
	}{{".asymmetry", l.Asymmetry, -3}, {".flex_below", l.Below, 0.1}, {".flex_above", l.Above, 0.1}} {
		if f.n != nil {
			out = append(out, figure{name + f.name, *f.n, f.least, 10})
		}
	}
	return out
}

// checkShape gives what is wrong with a limb's skew, "" for nothing.
func (l *Limb) checkShape() string {
	switch {
	case l == nil:
	case (l.Below == nil) != (l.Above == nil):
		return "has one of flex_below and flex_above; give both"
	case l.Below != nil && l.Asymmetry != nil:
		return "has both asymmetry and flex_below; give one"
	}
	return ""
}

// Check gives every problem of the profile, joined.
func (p Profile) Check() error {
	var problems []error
	complain := func(format string, args ...any) {
		problems = append(problems, fmt.Errorf(format, args...))
	}
	if strings.TrimSpace(p.Species) == "" || strings.TrimSpace(p.Name) == "" {
		complain("species and name must both be given")
	}
	for _, f := range p.figures() {
		if err := f.check(); err != nil {
			problems = append(problems, err)
		}
	}
	d := p.Development
	if d.Anchor.Value <= d.Zero.At(1.5*normal95)+0.5 {
		complain("development.anchor_celsius %g is not well above zero_celsius", d.Anchor.Value)
	}
	if d.Anchor.Value > d.Bend.At(-normal95) { // what is drawn below it is put at it
		complain("development.anchor_celsius %g is not below bend_celsius", d.Anchor.Value)
	}
	if p.TSP.Start.At(1.5*normal95) >= p.TSP.End.At(-1.5*normal95) {
		complain("tsp.start_ratio comes too near to end_ratio")
	}
	if p.Sex.Rising == nil && p.Sex.Falling == nil {
		complain("sex has neither a rising nor a falling limb")
	}
	if wrong := p.Sex.Rising.checkShape(); wrong != "" {
		complain("sex.rising %s", wrong)
	}
	if wrong := p.Sex.Falling.checkShape(); wrong != "" {
		complain("sex.falling %s", wrong)
	}
	return errors.Join(problems...)
}
