package monitor

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"clutchd/alerts"
)

// ofDelivery looks at each destination: whether it confirms what it is owed.
// What takes ever so long but gets on is not told. Caller holds mu.
func (m *Monitor) ofDelivery(look func(alerts.Rule, alerts.Observation)) {
	if m.quiet {
		return
	}
	waiting, confirmed := m.opt.Poster.Pending(), m.opt.Poster.Confirmed()
	for _, name := range slices.Sorted(maps.Keys(waiting)) {
		before, known := m.confirmed[name]
		n := waiting[name]
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.SystemSubject, ID: name, Name: destinationName(name)},
			Known:   true, Beyond: n > 0 && known && confirmed[name] == before,
		}
		if o.Beyond {
			o.Detail = waits(n)
		}
		look(m.rule("undelivered"), o)
	}
	m.confirmed = confirmed
}

// destinationName is what people call a destination: "the broker house".
func destinationName(id string) string {
	kind, name, ok := strings.Cut(id, ":")
	switch {
	case ok && kind == "mqtt":
		return "the broker " + name
	case ok && kind == "webhook":
		return "the webhook " + name
	}
	return id
}

func waits(n int) string {
	if n == 1 {
		return "One message waits for it."
	}
	return fmt.Sprintf("%d messages wait for it.", n)
}
