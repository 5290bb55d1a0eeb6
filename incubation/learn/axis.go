package learn

import (
	"math"

	"clutchd/incubation"
)

// An axis is one number of a member, on a scale on which it may be anything.
type axis struct {
	of  func(*incubation.Member) float64
	set func(*incubation.Member, float64)
}

func plain(field func(*incubation.Member) *float64) axis {
	return axis{
		of:  func(m *incubation.Member) float64 { return *field(m) },
		set: func(m *incubation.Member, x float64) { *field(m) = x },
	}
}

// positive is for a number above 0. Where a member has none it is minus
// infinity, and no axis.
func positive(field func(*incubation.Member) *float64) axis {
	return axis{
		of:  func(m *incubation.Member) float64 { return math.Log(*field(m)) },
		set: func(m *incubation.Member, x float64) { *field(m) = math.Exp(x) },
	}
}

// axes are all numbers of a member that an outcome may speak of.
func axes() []axis {
	type member = incubation.Member
	out := []axis{
		plain(func(m *member) *float64 { return &m.Zero }),
		positive(func(m *member) *float64 { return &m.PerDegree }),
		plain(func(m *member) *float64 { return &m.Bend }),
		positive(func(m *member) *float64 { return &m.Brake }),
		plain(func(m *member) *float64 { return &m.Start }),
		plain(func(m *member) *float64 { return &m.End }),
		{
			of:  func(m *member) float64 { return math.Log(m.Clutch / (1 - m.Clutch)) },
			set: func(m *member, x float64) { m.Clutch = 1 / (1 + math.Exp(-x)) },
		},
	}
	for _, limb := range []func(*member) *incubation.Flank{
		func(m *member) *incubation.Flank { return &m.Rising },
		func(m *member) *incubation.Flank { return &m.Falling },
	} {
		out = append(
			out,
			plain(func(m *member) *float64 { return &limb(m).Pivotal }),
			positive(func(m *member) *float64 { return &limb(m).Slope }),
			plain(func(m *member) *float64 { return &limb(m).Asymmetry }),
			positive(func(m *member) *float64 { return &limb(m).Below }),
			positive(func(m *member) *float64 { return &limb(m).Above }),
		)
	}
	return out
}
