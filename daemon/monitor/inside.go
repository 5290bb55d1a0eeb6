package monitor

import (
	"math"
	"slices"

	"clutchd/alerts"
	"clutchd/incubation"
)

// fewestBoxes is how many boxes must say the same for their incubator to be
// taken to be so. One box may have a trouble of its own.
const fewestBoxes = 2

// boxesIn gives, by incubator, the boxes that stand in it.
func boxesIn(places []PlaceNow) map[string][]PlaceNow {
	out := map[string][]PlaceNow{}
	for _, p := range places {
		if p.Kind == incubation.Box && p.In != "" {
			out[p.In] = append(out[p.In], p)
		}
	}
	return out
}

// boxNames gives what people call the boxes.
func boxNames(boxes []PlaceNow) []string {
	var out []string
	for _, b := range boxes {
		out = append(out, b.Name)
	}
	return out
}

// withEggs gives the boxes in which live eggs lie.
func withEggs(boxes []PlaceNow) []PlaceNow {
	return slices.DeleteFunc(slices.Clone(boxes), func(b PlaceNow) bool { return len(b.Eggs) == 0 })
}

// byBoxes completes what a rule sees of an incubator that has no probe of its
// own: it is as far off as the box that is least so. A heater that fails cools
// all boxes; that is one message, about the incubator. While too few of them
// speak nothing is known; false: too few have probes.
func (m *Monitor) byBoxes(
	r alerts.Rule, l bounds, boxes []PlaceNow, o alerts.Observation,
) (alerts.Observation, bool) {
	var values []float64
	around, falling, passing := between(l), false, false
	o.Boxes = nil
	measured := 0
	for _, b := range boxes {
		if len(b.Probes) > 0 {
			measured++
		}
		w := m.watch[b.ID]
		if w == nil {
			continue // the first tick that it stands here
		}
		v := m.valueFor(r, b, w)
		if v == nil || r.Unit == "ratio" || held(r, b, l, *v) {
			continue
		}
		values = append(values, *v)
		falling = falling || b.Celsius != nil && w.falling(float64(*b.Celsius))
		passing = passing || math.Abs(w.median()-l.around) < l.kelvin
		o.Boxes = append(o.Boxes, b.Name)
	}
	if len(values) < fewestBoxes {
		o.Known = false
		return o, measured >= fewestBoxes
	}
	slices.Sort(values)
	switch lowest, highest := values[0], values[len(values)-1]; {
	case o.High != nil && lowest >= around:
		o.Value = &lowest
	case o.Low != nil && highest <= around:
		o.Value = &highest
	default: // some over, some under: the incubator is not off
		o.Value = &around
	}
	o.Known, o.ByBoxes = true, true
	o.Explains = ptr((values[(len(values)-1)/2] + values[len(values)/2]) / 2)
	switch r.Code {
	case "too-cool":
		o.Steady = !falling
	case offSetpoint:
		o.Deadband, o.Detail, o.Steady = l.deadband, l.why, passing
	}
	return o, true
}

// between is where an incubator is neither too warm nor too cool by a rule.
func between(b bounds) float64 {
	switch {
	case b.low != nil && b.high != nil:
		return (*b.low + *b.high) / 2
	case b.low != nil:
		return math.Inf(1)
	}
	return math.Inf(-1)
}

// unwatchedIn completes what eggs-unwatched sees of an incubator: several of
// its boxes at once are one message.
func (m *Monitor) unwatchedIn(boxes []PlaceNow, o alerts.Observation) alerts.Observation {
	fewest := fewestBoxes
	if m.states[alerts.AlertID("eggs-unwatched", o.Subject)].Told() {
		fewest = 1 // the last of them is not to wait for an on-delay of its own
	}
	var mute []PlaceNow
	for _, b := range withEggs(boxes) {
		if m.unwatched(b) {
			mute = append(mute, b)
		}
	}
	if o.Beyond = len(mute) >= fewest; o.Beyond {
		o.Boxes, o.Eggs = boxNames(mute), nil
		for _, b := range mute {
			o.Eggs = append(o.Eggs, b.Eggs...)
		}
		o.Marks = m.marks(o.Eggs)
	}
	return o
}
