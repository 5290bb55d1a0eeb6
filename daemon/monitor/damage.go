package monitor

import (
	"time"

	"clutchd/alerts"
)

// damageHolds is how long a damage counts as going on, so that it is told:
// longer than any beat of the monitor.
const damageHolds = 10 * time.Minute

// damageNow is what was told of the store's damage.
type damageNow struct {
	known  int // sentences
	newest string
	until  time.Time
}

// ofDamage tells of each damage that the store has found, once. It is critical
// when the book is left without a place: then no rule judges anything.
func (m *Monitor) ofDamage(o alerts.Observation, now time.Time) alerts.Observation {
	if m.opt.Damage == nil || m.quiet {
		return o
	}
	d := &m.damage
	if all := m.opt.Damage(); len(all) > d.known {
		d.known, d.newest, d.until = len(all), all[len(all)-1], now.Add(damageHolds)
	}
	if o.Beyond = now.Before(d.until); o.Beyond {
		o.Detail = d.newest
		if len(m.book.Places) == 0 {
			o.Severity = alerts.Critical
		}
	}
	return o
}
