package monitor

import (
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/thermal"
)

// A course is how a place's temperature goes: where it is heading, what it
// usually swings between, and how it cools without heat.
type course struct {
	window  thermal.Window
	band    thermal.Band
	learner thermal.Learner
	read    time.Time // of the newest value taken
	speaks  string    // whose values the window holds
	keeps   string    // what the band is one of: see keepsTo
	kinder  time.Time // until then only what is too warm by any measure is unusual
}

// keepsEggs reports whether a course is kept of such a place.
func keepsEggs(p PlaceNow) bool {
	return p.Kind == incubation.Incubator || p.Kind == incubation.Box
}

// course gives a place's own, brought up to date.
func (m *Monitor) course(p PlaceNow, all []PlaceNow, now time.Time) *course {
	c := m.courses[p.ID]
	if c == nil {
		c = &course{}
		m.courses[p.ID] = c
	}
	if keeps := keepsTo(p); keeps != c.keeps {
		c.keeps, c.band = keeps, thermal.Band{}
	}
	if p.Celsius == nil || p.Doubt.Broken() || !p.Read.After(c.read) {
		return c // nothing new, or of another place
	}
	c.read = p.Read
	if speaks := m.speakers(p, now); speaks != c.speaks {
		c.speaks = speaks // a mean of others may be another temperature
		c.window.Clear()
		c.learner.Break()
	}
	point := thermal.Point{At: p.Read, Celsius: float64(*p.Celsius)}
	if !m.settled(p.ID, now) {
		c.learner.Break()
	} else {
		c.band.Add(point)
	}
	c.window.Add(point)
	c.learner.Add(point, plain(roomAround(p, all)))
	return c
}

// settled reports whether nothing was done to a place lately that moves its
// temperature.
func (m *Monitor) settled(place string, now time.Time) bool {
	w := m.watch[place]
	return w == nil || w.settling(now).IsZero()
}

// speakers names the probes whose values a place's temperature is the mean of.
func (m *Monitor) speakers(p PlaceNow, now time.Time) string {
	var out []string
	for _, id := range p.Probes {
		s := m.probes[id]
		if !s.stale(now) && s.latest.Has&incubation.Temperature != 0 && !s.latest.Quality.Broken() {
			out = append(out, id)
		}
	}
	return strings.Join(out, " ")
}

// roomAround is the temperature of the room that a place stands in, or of the
// only one that is measured; nil: none is.
func roomAround(p PlaceNow, all []PlaceNow) *incubation.Celsius {
	for in, rest := p.In, len(all); in != "" && rest > 0; rest-- {
		i := slices.IndexFunc(all, func(o PlaceNow) bool { return o.ID == in })
		if i < 0 {
			break
		}
		if all[i].Kind == incubation.Room && all[i].Celsius != nil {
			return all[i].Celsius
		}
		in = all[i].In
	}
	var found *incubation.Celsius
	for _, o := range all {
		if o.Kind == incubation.Room && o.Celsius != nil {
			if found != nil {
				return nil // of two nobody knows which
			}
			found = o.Celsius
		}
	}
	return found
}

func (c *course) shift(d time.Duration) {
	if c.read.IsZero() {
		return
	}
	c.read, c.kinder = c.read.Add(d), c.kinder.Add(d)
	c.window.Shift(d)
	c.band.Shift(d)
	c.learner.Shift(d)
}
