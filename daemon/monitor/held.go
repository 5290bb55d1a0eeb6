package monitor

import (
	"clutchd/alerts"
	"clutchd/incubation"
)

// kills reports whether a rule is about heat that kills within minutes.
func kills(r alerts.Rule) bool { return r.Code == "acute-heat" || r.Code == "runaway-heat" }

// held reports whether a rule's state is held where it is because no probe
// measures the place any more: what broken ones say neither raises nor clears.
// Heat that kills is told all the same once two readings in a row say so, and
// that of a probe that slipped out of its box, which still lies near the eggs,
// as any other: eggs die of heat that was explained away.
func held(r alerts.Rule, p PlaceNow, l bounds, value float64) bool {
	if !p.Doubt.Broken() {
		return false
	}
	hot := l.high != nil && value >= *l.high
	return !(hot && (kills(r) || r.Code == "too-warm" && p.Doubt == incubation.Slipped))
}

// hotter reports whether two readings in a row say that a place is hotter than
// what is believed of it so far.
func hotter(p PlaceNow) bool {
	return p.Hottest != nil && (p.Warmest == nil || *p.Hottest > *p.Warmest)
}
