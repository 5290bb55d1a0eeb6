package fit

import "math"

// A Prior is what is believed of a number before the rows: normal between
// bounds, its logarithm where Ratio is set.
type Prior struct {
	Mean  float64 `json:"mean"`
	SD    float64 `json:"sd"` // of the logarithm where Ratio
	Ratio bool    `json:"ratio,omitempty"`
	Least float64 `json:"least"`
	Most  float64 `json:"most"`
	Source
}

// log is the logarithm of the prior's density, up to a constant, at x: the
// number itself, or its logarithm where Ratio.
func (p Prior) log(x float64) float64 {
	value, mean := x, p.Mean
	if p.Ratio {
		value, mean = math.Exp(x), math.Log(mean)
	}
	if !(value >= p.Least && value <= p.Most) {
		return math.Inf(-1)
	}
	z := (x - mean) / p.SD
	return -z * z / 2
}

// middle is where a chain may start: the median, or well inside of the bounds.
func (p Prior) middle() float64 {
	m := min(max(p.Mean, p.Least+0.5*p.SD*p.unit()), p.Most)
	if p.Ratio {
		return math.Log(m)
	}
	return m
}

func (p Prior) unit() float64 {
	if p.Ratio {
		return p.Mean
	}
	return 1
}

// priorNames are the numbers that a prior must be given for.
var priorNames = []string{
	"zero_mean", "zero_spread", "duration_error", "zero", "days", "optimum", "peak", "bend",
	"rising", "rising_slope", "falling", "falling_slope", "laboratory", "clutch", "start", "end",
}
