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
func (t *Track) SetOutages(outages []Outage) { t.outages = outages }

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
		lost := (min(at, to) - from) * 24 / coolingHours
		regained := 1.0
		if at > to {
			regained = math.Exp(-(at - to) * 24 / warmingHours)
		}
		here := warm * -math.Expm1(-lost) * regained
		off -= here
		sd = math.Hypot(sd, warm*lost*math.Exp(-lost)*coolingUnsure*regained)
	}
	return off, sd
}
