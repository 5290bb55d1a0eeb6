// Package demo is an invented room, lived through in seconds and then live: a
// season of made-up animals in a simulated room, run by the same code as a
// real one.
//
// It shows what the program does and proves nothing about geckos: when its
// eggs hatch and which sex they have is made up from the same published
// values that the estimate rests on.
package demo

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors/simulated"
)

// SeasonLength is how much lies behind when the story reaches its present.
const SeasonLength = 110 * 24 * time.Hour

// The keeper looks twice a day, local time.
const (
	morning = 7*time.Hour + 30*time.Minute
	evening = 20*time.Hour + 15*time.Minute
)

// How fast the story's eggs grow: nothing below a zero of 17.5 °C, and 53 days
// at 28 °C. The zero is borrowed from other geckos and the days lie between
// the 52 of Wise 2009 and what keepers report; both are judgement.
const (
	growthZero = 17.5
	growthDays = 53 * (28 - growthZero) // degree-days
	growthSD   = 0.02                   // from egg to egg
)

// Story tells the season that led up to now, in a zone: the book's entries in
// order of time, the first at the season's start, none after now; and the
// room that they are about. The same now and zone give the same story. A zone
// that this machine does not know is taken for UTC.
func Story(now time.Time, zone string) (entries []book.Entry, spec simulated.Spec) {
	s := &story{
		now: now.UTC(), zone: time.UTC, name: "UTC",
		chance: rand.New(rand.NewPCG(2, 53)),
	}
	if z, err := time.LoadLocation(zone); err == nil {
		s.zone, s.name = z, zone
	}
	s.start = s.now.Add(-SeasonLength).Truncate(10 * time.Minute)
	s.spec = s.rig()
	s.furnish()
	s.hereNow()
	s.people()
	nth := map[string]int{}
	for _, c := range season {
		nth[c.female]++
		s.lay(fmt.Sprintf("%s-%d", c.female, nth[c.female]), c)
	}
	s.rounds()
	s.care()
	s.remarks()
	slices.SortStableFunc(s.entries, func(a, b book.Entry) int { return a.At.Compare(b.At) })
	for i := range s.entries {
		s.entries[i].Request = fmt.Sprintf("story-%d", i+1)
	}
	return s.entries, s.spec
}

// story is a story being told.
type story struct {
	now, start time.Time
	zone       *time.Location
	name       string // of the zone
	chance     *rand.Rand
	spec       simulated.Spec
	entries    []book.Entry
}

// write adds an entry, unless it is still to come.
func (s *story) write(at time.Time, kind book.Kind, data any) {
	if at.After(s.now) {
		return
	}
	raw, err := json.Marshal(data)
	if err != nil {
		panic(err) // the book's own types hold nothing that JSON cannot
	}
	s.entries = append(s.entries, book.Entry{
		At: at, Made: at, Zone: s.name, By: "keeper",
		Kind: kind, Data: raw,
	})
}

// look gives a time of day, days before today.
func (s *story) look(ago int, hour time.Duration) time.Time {
	y, m, d := s.now.In(s.zone).Date()
	return time.Date(y, m, d-ago, int(hour.Hours()), int(hour.Minutes())%60, 0, 0, s.zone).UTC()
}

// seen gives the first look at or after t.
func (s *story) seen(t time.Time) time.Time {
	for ago := int(s.now.Sub(t).Hours()/24) + 2; ; ago-- {
		for _, hour := range []time.Duration{morning, evening} {
			if look := s.look(ago, hour); !look.Before(t) {
				return look
			}
		}
	}
}

// lay tells a clutch: found, set into boxes, and what became of its eggs.
func (s *story) lay(id string, c clutch) {
	found := s.look(int(c.ago), morning)
	laying := book.LayingData{Clutch: id, Female: c.female, From: found.Add(-c.since), To: found}
	for _, f := range females {
		if f.id == c.female {
			laying.Place = "lay-box-" + f.pen
		}
	}
	for i := range c.eggs {
		mark := string(rune('A' + i))
		laying.Eggs = append(laying.Eggs, book.EggName{Egg: fmt.Sprintf("%s%c", id, 'a'+i), Mark: mark})
	}
	s.write(found, book.KindLaying, laying)
	var last time.Time // hatch
	for i, f := range c.eggs {
		set := found.Add(time.Duration(20+7*i) * time.Minute)
		out := s.live(egg{laying.Eggs[i].Egg, f, found.Add(-c.since / 2), set})
		if out.After(last) {
			last = out
		}
	}
	if c.mixed {
		s.count(id, c, last)
	}
	if c.note != "" {
		s.write(found.Add(45*time.Minute), book.KindNote, book.NoteData{Subject: id, Text: c.note})
	}
}

// An egg is one of the story: laid about then, set into its box then.
type egg struct {
	id string
	fate
	laid, set time.Time
}

// on gives the keeper's first look after so many days of the egg's life.
func (s *story) on(e egg, day float64) time.Time {
	return s.seen(e.laid.Add(time.Duration(day * float64(24*time.Hour))))
}

// live tells an egg from the box to the hatch, and gives when that was; zero
// for one that is lost.
func (s *story) live(e egg) time.Time {
	s.write(e.set, book.KindEgg, book.EggData{Egg: e.id, Box: e.box})
	if e.plan {
		s.write(e.set.Add(20*time.Minute), book.KindPlan, book.PlanData{
			Egg:   e.id,
			Steps: []book.PlanStep{{Day: 1, Celsius: 32}, {Day: e.day, Box: e.moved}},
		})
	}
	if e.cause != "" {
		lost := s.on(e, e.day)
		s.write(lost.Add(-24*time.Hour), book.KindCandle, book.CandleData{Egg: e.id, Seen: "unsure"})
		s.write(lost, book.KindFail, book.FailData{Egg: e.id, Cause: e.cause})
		return time.Time{}
	}
	s.write(s.on(e, 10), book.KindCandle, book.CandleData{Egg: e.id, Seen: "alive", Shows: incubation.Veins})
	if e.moved != "" {
		s.write(s.on(e, e.day), book.KindEgg, book.EggData{Egg: e.id, Box: e.moved})
	}
	out := s.seen(s.hatch(e))
	if s.chance.IntN(3) == 0 {
		s.write(s.seen(out.Add(-14*time.Hour)), book.KindPip, book.EggEvent{Egg: e.id})
	}
	s.out(e, out)
	return out
}

// How old an animal is when the keeper looks at its sex, as old as the
// season's length allows, and when one goes down as what it was meant to be.
const (
	lookedAt = 63 * 24 * time.Hour
	labelled = 21 * 24 * time.Hour
)

// out tells a hatch, and how the animal turned out.
func (s *story) out(e egg, at time.Time) {
	hatch := book.HatchData{Egg: e.id}
	if e.how == incubation.AtHatch {
		hatch.Sex = e.sex
	}
	s.write(at, book.KindHatch, hatch)
	s.raised(e, at)
	later := map[incubation.SexedHow]time.Duration{
		incubation.ByAnatomy: lookedAt, incubation.ByTemperature: labelled,
	}[e.how]
	if later > 0 {
		s.write(s.seen(at.Add(later)), book.KindSexed, book.SexedData{Egg: e.id, Sex: e.sex, How: e.how})
	}
}

// count tells how a clutch turned out that was raised together.
func (s *story) count(id string, c clutch, last time.Time) {
	d := book.SexedData{Clutch: id, How: incubation.ByAnatomy}
	for _, f := range c.eggs {
		switch f.sex {
		case incubation.Male:
			d.Males++
		case incubation.Female:
			d.Females++
		}
	}
	s.write(s.seen(last.Add(lookedAt)), book.KindSexed, d)
}

// hatch gives when an egg is grown, by how warm its boxes usually are.
func (s *story) hatch(e egg) time.Time {
	need := growthDays * (1 + growthSD*s.chance.NormFloat64())
	const step = time.Hour
	moves := s.on(e, e.day)
	for t := e.laid; ; t = t.Add(step) {
		box := e.box
		if e.moved != "" && !t.Before(moves) {
			box = e.moved
		}
		need -= (usual(box, s.now.Sub(t)) - growthZero) * step.Hours() / 24
		if need <= 0 {
			return t.Add(step)
		}
	}
}

// usual gives what a box usually is at, so long ago.
func usual(box string, ago time.Duration) float64 {
	i := slices.IndexFunc(tubs, func(b tub) bool { return b.place == box })
	return tubs[i].celsius(ago.Hours() / 24)
}

// remarks tells what else was written down.
func (s *story) remarks() {
	for _, r := range []struct {
		ago     int
		subject string
		text    string
	}{
		{turnedUp, warm, "The boxes lie on the cool side for males: turned up."},
		{72, cool, "Top shelf is the warm one. Boxes stay where they are."},
		{41, "", "Breaker was off when I came in, kettle and heater on one line. Moved the kettle."},
		{18, "probe-box-6", "Plug had come loose."},
		{9, "box-4", "Vermiculite weighed, 6 g of water added along the rim."},
	} {
		s.write(s.look(r.ago, evening).Add(10*time.Minute), book.KindNote,
			book.NoteData{Subject: r.subject, Text: r.text})
	}
}
