package incubation

import "time"

// LimitSet is between which temperatures eggs of a species are known to hatch.
// A spell outside is told with its length; what it costs nobody has measured.
type LimitSet struct {
	High Number `json:"high_celsius"`
	Low  Number `json:"low_celsius"`
	// Hatched is the lowest constant temperature with published hatching; nil:
	// not given. Between it and Low nobody has shown that eggs hatch.
	Hatched *Number `json:"hatched_celsius,omitempty"`
}

// Harm is how far and how long an egg was outside the limits, as measured.
type Harm struct {
	Above Excess `json:"above"`
	Below Excess `json:"below"`
}

// An Excess is time outside one limit. Its zero value is none.
type Excess struct {
	Limit Celsius `json:"limit_celsius"`
	// Kelvin times minutes, added up.
	DegreeMinutes float64 `json:"degree_minutes"`
	Minutes       float64 `json:"minutes"`
	Longest       float64 `json:"longest_minutes"` // without a whole step inside
	// Worst is the farthest reading, and At the step that it lies in.
	Worst Celsius   `json:"worst_celsius,omitempty"`
	At    time.Time `json:"at,omitzero"`

	spell float64
}

func harmOf(l LimitSet) Harm {
	return Harm{
		Above: Excess{Limit: Celsius(l.High.Value)},
		Below: Excess{Limit: Celsius(l.Low.Value)},
	}
}

// Any reports whether the egg was ever outside.
func (h Harm) Any() bool { return h.Above.Minutes > 0 || h.Below.Minutes > 0 }

// A Spell is the part of a block that lay beyond a limit.
type Spell struct {
	DegreeMinutes, Minutes float64
	Worst                  Celsius
}

// add counts a block that ends on a day after the laying. Of one that does not
// tell, the mean is taken for all of it.
func (h *Harm) add(b Block, end float64) {
	if end <= 0 {
		return
	}
	hot, cold := b.Hot, b.Cold
	minutes := BlockLength.Minutes()
	if over := float64(b.Celsius - h.Above.Limit); hot.Minutes == 0 && h.Above.Limit > 0 && over > 0 {
		hot = Spell{over * minutes, minutes, b.Celsius}
	}
	if under := float64(h.Below.Limit - b.Celsius); cold.Minutes == 0 && under > 0 {
		cold = Spell{under * minutes, minutes, b.Celsius}
	}
	h.Above.take(hot, b.Start, hot.Worst > h.Above.Worst)
	h.Below.take(cold, b.Start, cold.Worst < h.Below.Worst)
}

// take adds a block's spell; worse says that it goes beyond the worst so far.
func (x *Excess) take(s Spell, at time.Time, worse bool) {
	if s.Minutes <= 0 {
		x.spell = 0
		return
	}
	if x.Minutes == 0 || worse {
		x.Worst, x.At = s.Worst, at
	}
	x.DegreeMinutes += s.DegreeMinutes
	x.Minutes += s.Minutes
	x.spell += s.Minutes
	x.Longest = max(x.Longest, x.spell)
}

// worse is the longer of two probes' spells in one step: what one of them saw
// is not to be averaged away.
func worse(a, b Spell) Spell {
	if b.DegreeMinutes > a.DegreeMinutes {
		return b
	}
	return a
}
