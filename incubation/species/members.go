package species

import (
	"encoding/json"
	"fmt"
	"strings"

	"clutchd/incubation"
)

// A Fit is what package fit made of the published values: the members of an
// ensemble, so ordered that its first n are as good a choice as any, and how
// they came about. It is a data file; the daemon reads it and never fits.
type Fit struct {
	Made      Made        `json:"made"`
	Anchor    float64     `json:"anchor_celsius"` // of each member's Days
	Quantiles []Quantiles `json:"quantiles"`
	Members   []Plausible `json:"members"`
}

// Made says how a fit was made and how far its chains can be believed.
type Made struct {
	By   string `json:"by"`
	From string `json:"from"` // the file of published values
	Hash string `json:"sha256"`
	// Papers are the sources in that file, without repeats.
	Papers []string `json:"papers"`
	Seed   uint64   `json:"seed"`
	// Chains, Burn, Keep and Thin are of each summary rule's run; Accepted is
	// the share of steps taken, RHat the worst and Effective the least of any
	// number and run.
	Chains    int     `json:"chains"`
	Burn      int     `json:"burn"`
	Keep      int     `json:"keep"`
	Thin      int     `json:"thin"`
	Accepted  float64 `json:"accepted"`
	RHat      float64 `json:"worst_rhat"`
	Effective float64 `json:"least_effective"`
	// Arithmetic is a sum over what exponentials and logarithms come to on the
	// machine: where it is the same, a new fit gives the same file.
	Arithmetic string `json:"arithmetic"`
}

// Quantiles are the points of one number that the fit settled.
type Quantiles struct {
	Name   string  `json:"name"`
	Low    float64 `json:"low"`    // 5 %
	Median float64 `json:"median"` // 50 %
	High   float64 `json:"high"`   // 95 %
	SD     float64 `json:"sd"`
}

// A Plausible is one member of a fit. Its pivotal temperatures are those of a
// room nobody has measured: the laboratories' difference is in them.
type Plausible struct {
	Zero    float64    `json:"zero"`    // °C
	Days    float64    `json:"days"`    // from laying to hatching at the anchor
	Bend    float64    `json:"bend"`    // °C
	Peak    float64    `json:"peak"`    // K above Bend
	Start   float64    `json:"start"`   // of the TSP, in development
	End     float64    `json:"end"`     // of the TSP, in development
	Rising  [2]float64 `json:"rising"`  // pivotal °C, slope K
	Falling [2]float64 `json:"falling"` // pivotal °C, slope K
	Clutch  float64    `json:"clutch"`  // correlation between siblings
	Rule    string     `json:"rule"`    // mean, median or chance
}

// Rules are the names of the summary rules in a fit's file.
var rules = [...]string{
	incubation.ByMean: "mean", incubation.ByMedian: "median", incubation.ByChance: "chance",
}

// RuleName is a summary rule's name in a fit's file.
func RuleName(s incubation.Summary) string { return rules[s] }

// member is the member as package incubation runs it, but for what belongs to
// one egg.
func (p Plausible) member(anchor float64) (incubation.Member, error) {
	m := incubation.Member{
		Start: p.Start, End: p.End, Clutch: p.Clutch,
		Rising:  incubation.Flank{Pivotal: p.Rising[0], Slope: p.Rising[1]},
		Falling: incubation.Flank{Pivotal: p.Falling[0], Slope: p.Falling[1]},
	}
	switch {
	case !(p.Zero < anchor-0.5 && p.Bend >= anchor && p.Days > 1 && p.Peak > 0):
		return m, fmt.Errorf("its growth is none: %+v", p)
	case !(p.Start > 0 && p.End > p.Start && p.End < 1):
		return m, fmt.Errorf("its TSP is from %g to %g", p.Start, p.End)
	case !(p.Rising[1] > 0 && p.Falling[1] > 0 && p.Clutch >= 0 && p.Clutch < 1):
		return m, fmt.Errorf("its sex curve is none: %+v", p)
	}
	m.Grow(incubation.Growth{Zero: p.Zero, Anchor: anchor, Days: p.Days, Bend: p.Bend, Peak: p.Peak})
	for rule, name := range rules {
		if p.Rule == name {
			m.Rule = incubation.Summary(rule)
			return m, nil
		}
	}
	return m, fmt.Errorf("its rule %q is not one of %s", p.Rule, strings.Join(rules[:], ", "))
}

// ParseFit reads a fit's file and gives its members, in the file's order.
func ParseFit(data []byte) (Fit, []incubation.Member, error) {
	var f Fit
	if err := json.Unmarshal(data, &f); err != nil {
		return Fit{}, nil, fmt.Errorf("read fitted members: %w", err)
	}
	if len(f.Members) == 0 {
		return Fit{}, nil, fmt.Errorf("read fitted members: there are none")
	}
	out := make([]incubation.Member, len(f.Members))
	for i, p := range f.Members {
		var err error
		if out[i], err = p.member(f.Anchor); err != nil {
			return Fit{}, nil, fmt.Errorf("check fitted member %d: %w", i, err)
		}
	}
	return f, out, nil
}
