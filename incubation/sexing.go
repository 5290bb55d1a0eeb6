package incubation

import (
	"fmt"
	"time"
)

// The sexes as the book and Egg.Sex write them.
const (
	Male   = "male"
	Female = "female"
)

// SexedHow says what the sex of an animal was told by.
type SexedHow string

// What a sex is told by. The first two were seen on the animal.
const (
	// AtHatch was written down with the hatch. In a laboratory that agreed
	// with the later sex in all of 96 animals (Can. J. Zool. 65:1421, 1987,
	// abstract); for a keeper without a lens it is hard (judgement).
	AtHatch SexedHow = "at-hatch"
	// ByAnatomy is an animal looked at again: preanal pores, hemipenal bulges.
	ByAnatomy SexedHow = "anatomy"
	// ByTemperature was read off the incubator, not off the animal. It only
	// says again what an estimate says, so nothing may be learned from it.
	ByTemperature SexedHow = "temperature"
)

// Seen reports whether the animal itself was looked at.
func (h SexedHow) Seen() bool { return h == AtHatch || h == ByAnatomy }

// A Sexing is when and how a sex was told; the zero value: it was not.
type Sexing struct {
	At  time.Time // UTC
	How SexedHow
}

// Mixed counts animals of a clutch that were sexed when nobody knew any more
// which egg each came from. They came out of the eggs that Clutch.NotSexed
// gives, not always out of all of them; what was seen of those at hatching is
// of the same animals. The zero value: none.
type Mixed struct {
	Males, Females int
	Sexed          Sexing
}

// Count is how many animals were counted.
func (m Mixed) Count() int { return m.Males + m.Females }

// seen is how many of them were looked at.
func (m Mixed) seen() int {
	if m.Sexed.How.Seen() {
		return m.Count()
	}
	return 0
}

// Hatched gives the clutch's hatched eggs.
func (c *Clutch) Hatched() []*Egg {
	return c.which(func(e *Egg) bool { return e.State == Hatched })
}

// NotSexed gives the hatched eggs whose own animal was not sexed by anatomy:
// those that Mixed came out of.
func (c *Clutch) NotSexed() []*Egg {
	return c.which(func(e *Egg) bool { return e.State == Hatched && e.Sexed.How != ByAnatomy })
}

func (c *Clutch) which(keep func(*Egg) bool) []*Egg {
	var out []*Egg
	for _, e := range c.Eggs {
		if keep(e) {
			out = append(out, e)
		}
	}
	return out
}

// Between these ages a keeper sexes a hatchling: two to four months. Common
// practice, no source.
const (
	SexableFrom = 60 * 24 * time.Hour
	SexableTo   = 120 * 24 * time.Hour
)

// A SexingGap is what is missing of the sexes of a clutch's hatchlings.
type SexingGap struct {
	Hatched int // animals
	Sexed   int // of them by anatomy, with their egg known or not
	// Due are the eggs whose animals are now old enough to be sexed by
	// anatomy and have not been, Late those whose animals are older than
	// that. Of a clutch that was sexed in part without knowing the eggs, they
	// are all the eggs that the rest may have come from.
	Due, Late []*Egg
	// Partial: some were sexed by anatomy and others, though old enough, were
	// not. Which ones get looked at is no accident: usually those that are
	// easy to tell (judgement). What such a clutch teaches leans to one side.
	Partial bool
}

// SexingGap gives what is missing at a time.
func (c *Clutch) SexingGap(now time.Time) SexingGap {
	hatched, open := c.Hatched(), c.NotSexed()
	mixed := c.Mixed.seen()
	g := SexingGap{Hatched: len(hatched), Sexed: len(hatched) - len(open) + mixed}
	if mixed >= len(open) {
		return g // none is left
	}
	for _, e := range open {
		switch age := now.Sub(e.Ended); {
		case age >= SexableTo:
			g.Late = append(g.Late, e)
		case age >= SexableFrom:
			g.Due = append(g.Due, e)
		}
	}
	g.Partial = g.Sexed > 0 && len(g.Due)+len(g.Late) > mixed
	return g
}

// Warning is what a keeper should know of a clutch that was sexed in part, ""
// of any other.
func (g SexingGap) Warning() string {
	if !g.Partial {
		return ""
	}
	return fmt.Sprintf("Sexed on the animal so far: %d of %d hatchlings, usually the easy ones, "+
		"and those alone would teach the estimate wrong: look at the rest too.", g.Sexed, g.Hatched)
}
