package learn

import (
	"math"

	"clutchd/incubation"
)

// A lesson is a clutch made ready to be asked about again and again.
type lesson struct {
	clutch    *Clutch
	reckoners []*incubation.Reckoner // by egg; nil: it has no record
	eggSD     float64
	worth     float64 // what the hatch of each egg counts for
	chances   []float64
}

func lessons(clutches []Clutch, p incubation.Profile) []lesson {
	var out []lesson
	for i := range clutches {
		c := &clutches[i]
		l := lesson{
			clutch: c, eggSD: p.Development.EggSpread.Value,
			reckoners: make([]*incubation.Reckoner, len(c.Eggs)),
			chances:   make([]float64, len(c.Eggs)),
		}
		for k := range c.Eggs {
			o := &c.Eggs[k]
			if o.Track == nil || o.at().IsZero() {
				continue
			}
			if _, recorded := o.Track.Last(); recorded {
				l.reckoners[k] = l.shared(k, o.Track.Reckoner(o.at()))
			}
		}
		recorded := 0.0
		for _, r := range l.reckoners {
			if r != nil {
				recorded++
			}
		}
		l.worth = 1 / (1 + max(recorded-1, 0)*alike)
		out = append(out, l)
	}
	return out
}

// shared is an earlier egg's record where it is the same: siblings side by
// side are gone through once.
func (l *lesson) shared(k int, r *incubation.Reckoner) *incubation.Reckoner {
	for _, other := range l.reckoners[:k] {
		if other != nil && other.Same(r) {
			return other
		}
	}
	return r
}

// told is the logarithm of how likely the clutch's outcome is under a guess.
func (l *lesson) told(g *incubation.Guess) float64 {
	sum := 0.0
	var last *incubation.Reckoner
	var reckoned incubation.Reckoning
	for k, r := range l.reckoners {
		l.chances[k] = math.NaN()
		if r == nil {
			continue
		}
		if r != last {
			reckoned, _ = r.Reckon(g)
			last = r
		}
		l.chances[k] = reckoned.Chance
		sum += l.worth * math.Log(l.clutch.Eggs[k].hatched(reckoned, l.eggSD))
	}
	if !l.sexed() {
		return sum
	}
	return sum + math.Log(incubation.Siblings(g.Member.Clutch, l.chances, l.sexes))
}

// sexed reports whether an animal of the clutch was looked at.
func (l *lesson) sexed() bool {
	for k := range l.clutch.Eggs {
		if l.clutch.Eggs[k].Sex != "" && l.reckoners[k] != nil {
			return true
		}
	}
	return l.clutch.Mixed.Males+l.clutch.Mixed.Females > 0
}

// sexes is how likely the sexes seen are, given each egg's chance of a male in
// a clutch of one leaning; NaN for an egg without a record.
func (l *lesson) sexes(given []float64) float64 {
	p := 1.0
	for k := range l.clutch.Eggs {
		if o := &l.clutch.Eggs[k]; o.Sex != "" && !math.IsNaN(given[k]) {
			p *= seen(given[k], o.Sex == incubation.Male, o.Wrong)
		}
	}
	return p * l.mixed(given)
}

// seen is the chance that an animal is seen as male, or as female.
func seen(male float64, asMale bool, wrong float64) float64 {
	p := male*(1-wrong) + (1-male)*wrong
	if asMale {
		return p
	}
	return 1 - p
}

// mixed is the same for animals whose egg is not known.
func (l *lesson) mixed(given []float64) float64 {
	m := &l.clutch.Mixed
	n := m.Males + m.Females
	if n == 0 {
		return 1
	}
	var chances []float64
	for _, k := range m.Of {
		if k < len(given) && !math.IsNaN(given[k]) {
			chances = append(chances, seen(given[k], true, m.Wrong))
		}
	}
	if len(chances) < n {
		return 1 // more animals than eggs with a record: nothing can be told
	}
	if len(chances) > n {
		// Some of them, nobody knows which: each is as likely as the mean.
		mean := 0.0
		for _, p := range chances {
			mean += p / float64(len(chances))
		}
		chances = chances[:n]
		for k := range chances {
			chances[k] = mean
		}
	}
	return incubation.CountMales(chances)[m.Males]
}
