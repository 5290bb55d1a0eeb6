package web

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// A shelfMap is an incubator's boxes from warm to cool, by what was learned of
// each against its incubator: warm air rises, so that the first is mostly the
// top shelf.
type shelfMap struct {
	Setpoint string // "" : none is known
	Unit     string
	Shelves  []shelfLine
	Waiting  []string // boxes not measured for long enough
	Target   string   // asked for
	Suits    []string
	Error    string
}

// A shelfLine is one box of the map. Fill is how far its bar reaches, 0 to
// 100, from the coolest to the warmest.
type shelfLine struct {
	ID, Name, Offset, Really, Eggs string
	Fill                           string
	Here                           bool // it suits the target best
	celsius                        *incubation.Celsius
}

// suitsWithin is how near a box must come to a target to be called the one for
// it, K: as near as the learned difference is known. Judgement.
const suitsWithin = 0.3

// shelfMap draws the boxes of an incubator; nil when none stands in it.
func (v *visit) shelfMap(p monitor.PlaceNow) *shelfMap {
	if p.Kind != incubation.Incubator {
		return nil
	}
	m := &shelfMap{Unit: v.say.Unit(), Target: v.asked("target")}
	if p.Setpoint != nil {
		m.Setpoint = v.say.temp(*p.Setpoint) + nbsp + m.Unit
	}
	var boxes []monitor.PlaceNow
	for _, b := range v.snap.Places {
		switch {
		case b.In != p.ID || b.Kind != incubation.Box:
		case b.Offset == nil:
			m.Waiting = append(m.Waiting, b.Name)
		default:
			boxes = append(boxes, b)
		}
	}
	if len(boxes) == 0 {
		return nil
	}
	slices.SortStableFunc(boxes, func(a, b monitor.PlaceNow) int { return cmp.Compare(*b.Offset, *a.Offset) })
	warmest, coolest := *boxes[0].Offset, *boxes[len(boxes)-1].Offset
	for _, b := range boxes {
		l := shelfLine{ID: b.ID, Name: b.Name, Offset: v.say.difference(*b.Offset), Eggs: v.marksIn(v.lyingIn(b)), Fill: "100"}
		if spread := warmest - coolest; spread > 0 {
			l.Fill = num(25 + 75*(*b.Offset-coolest)/spread)
		}
		if p.Setpoint != nil {
			c := *p.Setpoint + incubation.Celsius(*b.Offset)
			l.celsius, l.Really = &c, v.say.temp(c)
		}
		m.Shelves = append(m.Shelves, l)
	}
	v.suit(m, p)
	return m
}

// suit says which box suits a target: the one that was asked for, and those
// that plans of eggs name.
func (v *visit) suit(m *shelfMap, p monitor.PlaceNow) {
	if p.Setpoint == nil {
		return
	}
	if m.Target != "" {
		a := &answers{values: v.r.URL.Query(), say: v.say}
		target := a.degrees("target")
		if a.wrong != nil {
			m.Error = capital(a.wrong.Text) + "."
			return
		}
		best := m.nearest(target)
		m.Shelves[best].Here = true
		m.Suits = append(m.Suits, v.suitSays(m, best, target, *p.Setpoint))
	}
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			if in := placeOf(v.snap, e.Box); live(e) && in != nil && in.In == p.ID {
				v.suitPlan(m, e.ID, *p.Setpoint)
			}
		}
	}
}

// suitPlan says it of the temperatures that an egg is planned for.
func (v *visit) suitPlan(m *shelfMap, egg string, setpoint incubation.Celsius) {
	for _, st := range v.snap.Book.Plans[egg] {
		if st.Celsius > 0 && v.snap.Book.When(egg, st).After(v.snap.Time) {
			m.Suits = append(m.Suits, "Planned for "+v.teller().egg(egg)+": "+
				v.suitSays(m, m.nearest(st.Celsius), st.Celsius, setpoint))
		}
	}
}

func (m *shelfMap) nearest(target incubation.Celsius) int {
	best := 0
	for i, l := range m.Shelves {
		if off := math.Abs(float64(*l.celsius - target)); off < math.Abs(float64(*m.Shelves[best].celsius-target)) {
			best = i
		}
	}
	return best
}

// suitSays tells which box comes nearest, and what the dial would have to be
// for it to be right.
func (v *visit) suitSays(m *shelfMap, best int, target, setpoint incubation.Celsius) string {
	l, w := m.Shelves[best], v.say
	off := float64(*l.celsius - target)
	says := w.temp(target) + nbsp + m.Unit + ": "
	if math.Abs(off) <= suitsWithin {
		return says + l.Name + " suits it, really " + l.Really + "."
	}
	dial := setpoint - incubation.Celsius(off)
	return says + "no box at this setpoint. " + l.Name + " comes nearest, really " + l.Really + "; it would be right with the dial at " +
		w.temp(dial) + ", and every other box with it " + strings.TrimPrefix(w.difference(float64(dial-setpoint)), "+") + "."
}
