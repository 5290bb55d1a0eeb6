package book

import (
	"time"

	"clutchd/incubation"
)

// Bounds of a laying: eggs in one clutch, and days since the last look. More
// is a slip. Judgement.
const (
	maxEggs    = 6
	maxUnknown = 60 * 24 * time.Hour
)

func (d LayingData) shape(at time.Time) *Problem {
	p := first(CheckID("clutch", d.Clutch), CheckID("female", d.Female),
		checkTime("from", d.From), checkTime("to", d.To), d.interval(at))
	if p == nil && d.Place != "" {
		p = CheckID("place", d.Place)
	}
	return first(p, d.eggs())
}

func (d LayingData) interval(at time.Time) *Problem {
	switch {
	case d.To.Before(d.From):
		return problem("to", "the eggs were found before the last look that found none")
	case d.To.Sub(d.From) > maxUnknown:
		return problem("from", "the last look was more than %d days before the eggs were found",
			maxUnknown/(24*time.Hour))
	case d.To.After(at):
		return problem("to", "the eggs were found after the time of the entry")
	}
	return nil
}

func (d LayingData) eggs() *Problem {
	if len(d.Eggs) == 0 {
		return problem("eggs", "a laying needs at least one egg")
	}
	if len(d.Eggs) > maxEggs {
		return problem("eggs", "a clutch of %d eggs is more than %d", len(d.Eggs), maxEggs)
	}
	ids, marks := map[string]bool{d.Clutch: true, d.Female: true}, map[string]bool{}
	for _, e := range d.Eggs {
		if p := first(CheckID("egg", e.Egg), checkWords("mark", e.Mark, maxMark)); p != nil {
			return p
		}
		if ids[e.Egg] {
			return problem("egg", "%q is used twice in this laying", e.Egg)
		}
		if marks[e.Mark] {
			return problem("mark", "two eggs are marked %s", e.Mark)
		}
		ids[e.Egg], marks[e.Mark] = true, true
	}
	return nil
}

func (d LayingData) sense(s *State, _ time.Time) *Problem {
	if _, p := s.female("female", d.Female); p != nil {
		return p
	}
	if p := s.taken("clutch", d.Clutch); p != nil {
		return p
	}
	if d.Place != "" {
		if _, p := s.usable("place", d.Place); p != nil {
			return p
		}
	}
	for _, e := range d.Eggs {
		if p := s.taken("egg", e.Egg); p != nil {
			return p
		}
	}
	return nil
}

func (d LayingData) write(s *State, _ time.Time, _ uint64) {
	from, to := d.From.UTC(), d.To.UTC()
	c := &incubation.Clutch{
		ID: d.Clutch, Female: d.Female,
		Laid: incubation.Laying{From: from, To: to, Place: d.Place},
	}
	for _, name := range d.Eggs {
		e := &incubation.Egg{
			ID: name.Egg, Clutch: d.Clutch, Mark: name.Mark,
			State: incubation.Incubating, AliveAt: to,
		}
		e.Stays = enter(nil, d.Place, from)
		c.Eggs = append(c.Eggs, e)
		s.Eggs[e.ID] = e
	}
	s.Clutches[c.ID] = c
}
