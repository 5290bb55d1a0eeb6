// Package learn makes of an ensemble one that has seen what hatched in this
// room: hatch dates, sexes seen on animals and failures say which of its
// members were right. It also holds past estimates against what came of them.
//
// It is pure, and always starts from the ensemble that ships: what it has
// learned does not depend on the order in which it was told.
package learn

import (
	"math"
	"time"

	"clutchd/incubation"
)

// An Outcome is what became of one egg.
type Outcome struct {
	Egg   string
	Track *incubation.Track // its record, to its end
	// After is when it was last known to be alive and not hatched. By is when
	// it was found hatched; zero: it never was, and only After counts.
	After, By time.Time
	// Sex is incubation.Male, incubation.Female, or "" where nobody looked at
	// the animal. What was told from a temperature is no sex.
	Sex string
	// Wrong is the chance that the sex was seen wrongly.
	Wrong float64
}

// A Clutch is what became of the eggs of one laying.
type Clutch struct {
	ID   string
	Eggs []Outcome
	// Mixed are sexes of animals whose egg nobody knows any more: out of the
	// eggs at these places in Eggs, which then carry no sex of their own.
	Mixed Mixed
}

// Mixed counts animals by their sex.
type Mixed struct {
	Of             []int
	Males, Females int
	Wrong          float64
}

// Ended is when the last of its eggs was known to hatch or to live.
func (c *Clutch) Ended() time.Time {
	var last time.Time
	for _, e := range c.Eggs {
		for _, t := range []time.Time{e.After, e.By} {
			if t.After(last) {
				last = t
			}
		}
	}
	return last
}

// All of these are judgement.
const (
	// look is how long before a hatch was found somebody had looked at the
	// most, whatever the book says: near the date one looks daily.
	look = 48 * time.Hour
	// stray is the share of hatch dates that are wrong for reasons that no
	// member knows: forgotten, mistyped, an egg mistaken for another. Such a
	// date may be off by strayDays.
	stray     = 0.02
	strayDays = 30
	// alike is how far the hatch of siblings goes together beyond what is known
	// of them, as a correlation: one mother, one box. Two of them tell less
	// than two strangers.
	alike = 0.5
	// silentSD is how far a member may be off in development over stretches
	// that nothing was read in, as a share of it.
	silentSD = 0.1
)

// WrongAtHatch and WrongByAnatomy are how often a keeper mistakes a sex, on
// the day of the hatch and at two to four months. Judgement: in a laboratory
// all of 96 hatchlings were sexed rightly (Can. J. Zool. 65:1421, 1987,
// abstract).
const (
	WrongAtHatch   = 0.10
	WrongByAnatomy = 0.02
)

// hatched is how likely the outcome's date is for what a guess makes of the
// record at the time it was found, or last known to live.
func (o *Outcome) hatched(r incubation.Reckoning, eggSD float64) float64 {
	laying := o.Track.Laying()
	unsure := laying.To.Sub(laying.From).Hours() / 24 * r.Rate / math.Sqrt(12)
	sd := math.Hypot(math.Hypot(eggSD, unsure), silentSD*r.Silent)
	if o.By.IsZero() {
		return (1-stray)*normal(-(r.Development-1)/sd) + stray
	}
	since := look
	if known := o.By.Sub(o.After); !o.After.IsZero() && known < look {
		since = max(known, time.Hour)
	}
	days := since.Hours() / 24
	p := normal((r.Development-1)/sd) - normal((r.Development-r.Rate*days-1)/sd)
	return (1-stray)*max(p, 0) + stray*days/strayDays
}

// at is the time that a guess is asked about.
func (o *Outcome) at() time.Time {
	if o.By.IsZero() {
		return o.After
	}
	return o.By
}

func normal(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
