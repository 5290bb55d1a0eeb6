package monitor

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// A tale is what the readings around a gap tell of one place with eggs.
type tale struct {
	name             string
	eggs             []string
	setpoint         *float64
	room             float64 // what it would cool towards, °C
	before, after    point
	coldest, warmest point // stored meanwhile
}

const (
	// mostTales is how many places a text tells of.
	mostTales = 3
	// fastest is the shortest time constant of a cabinet that cools by
	// itself: a fall that is quicker has another cause, a door or a probe
	// that was moved. Judgement; cabinets take hours.
	fastest = time.Hour
)

// tales gives one for each incubator with eggs, and each box that stands in
// none; what fell most comes first.
func (m *Monitor) tales(places []PlaceNow) []tale {
	room := float64(coolRoom)
	for _, p := range places {
		if p.Kind == incubation.Room && p.Celsius != nil {
			room = float64(*p.Celsius)
		}
	}
	var out []tale
	for _, p := range places {
		outer, _ := placeIn(places, p.In)
		inside := p.Kind == incubation.Box && outer.Kind == incubation.Incubator
		if p.Kind != incubation.Box && p.Kind != incubation.Incubator || inside || len(p.Eggs) == 0 {
			continue
		}
		t := tale{name: p.Name, eggs: p.Eggs, setpoint: plain(p.Setpoint), room: room}
		t.hear(m.away, p.ID)
		for _, box := range places {
			if box.In == p.ID && (!t.before.known() || !t.after.known()) {
				t.hear(m.away, box.ID) // its own probe does not tell
			}
		}
		if t.before.known() || t.after.known() {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b tale) int { return cmp.Compare(b.fell(), a.fell()) })
	return out
}

// hear takes what is known of a place.
func (t *tale) hear(a *awayNow, place string) {
	t.before, t.after = a.past.before[place], a.first[place]
	t.coldest, t.warmest = a.past.coldest[place], a.past.warmest[place]
}

// fell is by how much it cooled, K.
func (t tale) fell() float64 {
	if !t.before.known() || !t.low().known() {
		return math.Inf(-1)
	}
	return t.before.celsius - t.low().celsius
}

// low is the coldest that is known since.
func (t tale) low() point {
	if t.coldest.known() && (!t.after.known() || t.coldest.celsius < t.after.celsius) {
		return t.coldest
	}
	return t.after
}

// withoutHeat reports whether the numbers say that it had none for a while: it
// was where it was set, is two degrees and more under that, and fell no faster
// than a cabinet that cools by itself.
func (t tale) withoutHeat() bool {
	low := t.low()
	if t.setpoint == nil || !t.before.known() || !low.known() ||
		t.before.celsius < *t.setpoint-1 || low.celsius > *t.setpoint-cooledBy || t.fell() < cooledBy {
		return false
	}
	lasted := low.at.Sub(t.before.at)
	least := t.room + (t.before.celsius-t.room)*math.Exp(-lasted.Hours()/fastest.Hours())
	return low.celsius >= least-0.5 // what thermometers differ by
}

// tell gives a sentence for each of the first tales.
func tell(tales []tale, zone *time.Location, scale alerts.Scale) []string {
	var out []string
	for i, t := range tales {
		if i == mostTales {
			return append(out, fmt.Sprintf("And %d more.", len(tales)-i))
		}
		out = append(out, t.sentence(zone, scale))
	}
	return out
}

// sentence says what was read before and after, and meanwhile where something
// was, and what that most likely means.
func (t tale) sentence(zone *time.Location, scale alerts.Scale) string {
	layout := "15:04"
	if t.before.known() && t.after.known() && t.after.at.Sub(t.before.at) > 20*time.Hour {
		layout = "2 January 15:04"
	}
	say := func(p point) string {
		return fmt.Sprintf("%s at %s", alerts.Amount(p.celsius, "celsius", scale), p.at.In(zone).Format(layout))
	}
	text := t.name + ": "
	switch {
	case !t.before.known():
		text += "nothing read before, " + say(t.after)
	case !t.after.known():
		text += say(t.before) + ", nothing read since"
	default:
		text += say(t.before) + ", " + say(t.after)
	}
	if t.coldest.known() {
		text += fmt.Sprintf("; in between %s, at most %s", say(t.coldest),
			alerts.Amount(t.warmest.celsius, "celsius", scale))
	}
	if t.withoutHeat() {
		text += "; most likely without heat meanwhile"
	}
	return text + "."
}
