package incubation

import (
	"math"
	"time"
)

// An Outage is a time without heat that others tell of: the neighbours of a
// place that nobody measured cooled off together, as when a breaker trips.
type Outage struct {
	From, To time.Time
	Room     Celsius // what they cooled towards
}

const (
	// coolingHours is how long a cabinet takes to lose two thirds of what it
	// is warmer than the room, warmingHours to make that up. Judgement, until
	// the keeper's own cabinets have shown theirs.
	coolingHours = 3.0
	warmingHours = 1.0
	// coolingUnsure is how far coolingHours may be off, sd of its logarithm.
	coolingUnsure = 0.5
)

// SetOutages says what the neighbours told of the gaps of this record, in
// place of what was said before. Where something was read it does not matter.
func (t *Track) SetOutages(outages []Outage) { t.outages, t.askedGaps = outages, len(t.Gaps()) }

// Gaps gives the gaps of the record, those to the laying and to now not among
// them.
func (t *Track) Gaps() []Gap {
	var out []Gap
	for _, p := range t.parts {
		if p.run == nil && p.gap.open == neither {
			out = append(out, Gap{t.time(p.gap.from), t.time(p.gap.to)})
		}
	}
	return out
}

// A Gap is a stretch without readings.
type Gap struct{ From, To time.Time }

// time is a day after the earliest laying as a time.
func (t *Track) time(day float64) time.Time {
	return t.epoch.Add(time.Duration(day * 24 * float64(time.Hour))).Round(time.Second)
}

// coldBy is by how much a place must cool for it to have lost its heat: more
// than any thermostat swings, K. Judgement.
const coldBy = 2.0

// Cooled gives the outage that blocks of one place tell of, in order of time:
// it cooled by more than a thermostat's swing, from when it began to until it
// warmed again. False: it did not, or they are too few to tell.
func Cooled(blocks []Block) (Outage, bool) {
	if len(blocks) < 3 {
		return Outage{}, false
	}
	level, lowest, began := blocks[0].Celsius, 0, 0
	for i, b := range blocks {
		if b.Celsius < blocks[lowest].Celsius {
			lowest = i
		}
	}
	for i := range blocks[:lowest] {
		level = max(level, blocks[i].Celsius)
	}
	if level-blocks[lowest].Celsius < coldBy {
		return Outage{}, false
	}
	for i := range blocks[:lowest] {
		if blocks[i].Celsius > level-coldBy/4 {
			began = i
		}
	}
	cold := blocks[lowest].Celsius
	for i := lowest; i < len(blocks); i++ {
		if blocks[i].Celsius < cold+coldBy/8 {
			lowest = i
		}
	}
	return Outage{From: blocks[began].End(), To: blocks[lowest].End(), Room: cold}, true
}

// outage is by how much an outage moves a gap's temperature at a share x of
// it, and how sure that is, K.
func (t *Track) outage(g gap, x float64) (off, sd float64) {
	at := g.from + (g.to-g.from)*x
	for _, o := range t.outages {
		from, to := max(t.day(o.From), g.from), min(t.day(o.To), g.to)
		if to <= from || at <= from {
			continue
		}
		warm := g.line((from-g.from)/(g.to-g.from)) - float64(o.Room)
		if warm <= 0 {
			continue
		}
		until := min(at, to)
		lost := (until - from) * 24 / coolingHours
		regained := math.Exp(-(at - until) * 24 / warmingHours)
		// The line may go down to a cold end by itself.
		cold := g.line((until-g.from)/(g.to-g.from)) - float64(o.Room) - warm*math.Exp(-lost)
		off -= max(cold, 0) * regained
		sd = math.Hypot(sd, warm*lost*math.Exp(-lost)*coolingUnsure*regained)
	}
	return off, sd
}
