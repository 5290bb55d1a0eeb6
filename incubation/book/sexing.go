package book

import (
	"time"

	"clutchd/incubation"
)

func (d SexedData) shape(time.Time) *Problem {
	if (d.Egg == "") == (d.Clutch == "") {
		return problem("egg", "a sexing is about one egg, or about a clutch whose eggs are not known any more")
	}
	if d.How != incubation.ByAnatomy && d.How != incubation.ByTemperature {
		return problem("how", "how is anatomy or temperature, not %.40q", string(d.How))
	}
	if d.Egg != "" {
		return d.ofEgg()
	}
	return d.ofClutch()
}

func (d SexedData) ofEgg() *Problem {
	if d.Sex != incubation.Male && d.Sex != incubation.Female {
		return problem("sex", "sex is male or female, not %.40q", d.Sex)
	}
	if d.Males != 0 || d.Females != 0 {
		return problem("males", "males and females are counted of a clutch, not of an egg")
	}
	return CheckID("egg", d.Egg)
}

func (d SexedData) ofClutch() *Problem {
	if d.Sex != "" {
		return problem("sex", "a clutch is counted: so many males, so many females")
	}
	for _, n := range []struct {
		field string
		count int
	}{{"males", d.Males}, {"females", d.Females}} {
		if n.count < 0 || n.count > maxEggs {
			return problem(n.field, "%s %d is outside 0 to %d", n.field, n.count, maxEggs)
		}
	}
	if d.Males+d.Females == 0 {
		return problem("males", "count at least one animal")
	}
	return CheckID("clutch", d.Clutch)
}

func (d SexedData) sense(s *State, _ time.Time) *Problem {
	if d.Egg != "" {
		return d.senseOfEgg(s)
	}
	c := s.Clutches[d.Clutch]
	if c == nil {
		return problem("clutch", "the book has no clutch %q at that time", d.Clutch)
	}
	hatched := len(c.Hatched())
	if hatched == 0 {
		return problem("clutch", "no egg of clutch %s has hatched by then", c.ID)
	}
	if n := d.Males + d.Females; n > hatched {
		return problem(d.more(), "%d animals are too many: hatched eggs of clutch %s by then: %d", n, c.ID, hatched)
	}
	// A label read off the incubator never stands in the way of a sexing.
	if n, left := d.Males+d.Females, len(c.NotSexed()); d.How.Seen() && n > left {
		return problem(d.more(), "%d animals are too many: hatched eggs of clutch %s that were not sexed by themselves: %d",
			n, c.ID, left)
	}
	return nil
}

// more is the field of the larger count: what is to blame for too many.
func (d SexedData) more() string {
	if d.Females > d.Males {
		return "females"
	}
	return "males"
}

func (d SexedData) senseOfEgg(s *State) *Problem {
	e := s.Eggs[d.Egg]
	switch {
	case e == nil:
		return problem("egg", "the book has no egg %q at that time", d.Egg)
	case e.State == incubation.Failed:
		return problem("egg", "egg %s %s on %s", d.Egg, e.State, e.Ended.Format(shown))
	case e.State != incubation.Hatched:
		return problem("egg", "egg %s has not hatched by then", d.Egg)
	}
	c := s.Clutches[e.Clutch]
	if e.Sexed.How != incubation.ByAnatomy && d.How.Seen() && c.Mixed.Sexed.How.Seen() &&
		c.Mixed.Count() >= len(c.NotSexed()) {
		return problem("egg", "the animal of egg %s was counted on %s, with its egg not known: "+
			"take that entry back, or count without this animal, first", d.Egg, c.Mixed.Sexed.At.Format(shown))
	}
	return nil
}

func (d SexedData) write(s *State, at time.Time, _ uint64) {
	told := incubation.Sexing{At: at, How: d.How}
	if d.Clutch != "" {
		d.count(s.Clutches[d.Clutch], told)
		return
	}
	e := s.Eggs[d.Egg]
	if e.Sexed.How.Seen() && !d.How.Seen() {
		return
	}
	e.Sex, e.Sexed = d.Sex, told
	if c := s.Clutches[e.Clutch]; c.Mixed.Count() > len(c.NotSexed()) {
		c.Mixed = incubation.Mixed{} // labels, that a sexing has made obsolete
	}
}

// count keeps the mixed animals of a clutch.
func (d SexedData) count(c *incubation.Clutch, told incubation.Sexing) {
	if !d.How.Seen() && (c.Mixed.Sexed.How.Seen() || d.Males+d.Females > len(c.NotSexed())) {
		return
	}
	c.Mixed = incubation.Mixed{Males: d.Males, Females: d.Females, Sexed: told}
}
