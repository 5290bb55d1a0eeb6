package monitor

import (
	"context"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/thermal"
)

const (
	// coolingBack is how much of an incubator's history is read for how it
	// cools, swingBack how much of any place's for what it swings between.
	coolingBack = 60 * 24 * time.Hour
	swingBack   = 72 * time.Hour
)

// A recollection is a place whose course is learned from its history.
type recollection struct {
	place, probe string
	from         time.Time
	rooms        []string // probes of the room that it stands in
}

// recallCourses learns how places swing and cool from the history, as after a start,
// so that a restart does not make a guess of what was seen. Of a place with
// several probes it reads the first; the newest minutes come with the ticks.
func (m *Monitor) recallCourses(ctx context.Context) {
	m.mu.Lock()
	b, now := m.book, m.clock.now
	var all []recollection
	if m.forgotten && m.clock.trusted && !m.quiet {
		m.forgotten = false
		for id := range m.courses {
			if r, ok := recollectionOf(b, id, now); ok {
				all = append(all, r)
			}
		}
	}
	m.mu.Unlock()
	slices.SortFunc(all, func(x, y recollection) int { return x.from.Compare(y.from) })
	for _, r := range all {
		if ctx.Err() != nil {
			return
		}
		c := m.recalled(ctx, b, r, now)
		m.mu.Lock()
		if here := m.courses[r.place]; here != nil && here.band.Hours() <= c.band.Hours() {
			here.band, here.learner = c.band, c.learner
		}
		m.mu.Unlock()
	}
}

func recollectionOf(b *book.State, place string, now time.Time) (recollection, bool) {
	p := b.Places[place]
	if p == nil || b.Gone[place] {
		return recollection{}, false
	}
	r := recollection{place: place, from: now.Add(-swingBack)}
	if p.Kind == incubation.Incubator {
		r.from = now.Add(-coolingBack)
	}
	room := roomOf(b, place, now)
	for _, at := range b.Placements {
		switch {
		case !at.Stay.Covers(now):
		case at.Stay.Place == place && (r.probe == "" || at.Probe < r.probe):
			r.probe, r.from = at.Probe, later(r.from, at.Stay.From)
		case at.Stay.Place == room && room != "":
			r.rooms = append(r.rooms, at.Probe)
		}
	}
	return r, r.probe != ""
}

// roomOf is the room that a place stands in, or the only one there is.
func roomOf(b *book.State, place string, now time.Time) string {
	for _, p := range b.Around(place, now) {
		if p.Kind == incubation.Room {
			return p.ID
		}
	}
	only := ""
	for id, p := range b.Places {
		if p.Kind != incubation.Room || b.Gone[id] {
			continue
		}
		if only != "" {
			return ""
		}
		only = id
	}
	return only
}

// recalled lives a place's course through again, up to now.
func (m *Monitor) recalled(ctx context.Context, b *book.State, r recollection, now time.Time) course {
	rooms := m.means(ctx, b, r.rooms, span{r.from, now})
	var c course
	var newest time.Time
	keptSince := keptFrom(b, r.place, now)
	for reading, err := range m.opt.Store.Range(ctx, r.probe, r.from, now) {
		if ctx.Err() != nil {
			break
		}
		if err != nil || reading.Has&incubation.Temperature == 0 || reading.Time.Sub(newest) < thermal.Spacing {
			continue // damage is told of by whoever replays the eggs
		}
		newest = reading.Time
		point := thermal.Point{At: newest, Celsius: float64(correct(b, reading).Celsius)}
		if newest.Before(settledAt(b, r.place, newest)) {
			c.learner.Break()
		} else if newest.After(keptSince) {
			c.band.Add(point)
		}
		around := rooms[newest.Truncate(incubation.BlockLength)]
		if room, ok := around.value(); ok {
			c.learner.Add(point, &room)
		} else {
			c.learner.Add(point, nil)
		}
	}
	return c
}

// keptFrom is since when a place's thermostat aims at what it does now, and it
// stands where it does.
func keptFrom(b *book.State, place string, now time.Time) time.Time {
	var since time.Time
	at := b.Places[place]
	for _, id := range []string{place, incubation.At(at.Stays, now)} {
		for _, s := range b.Setpoints[id] {
			if !s.From.After(now) {
				since = later(since, s.From)
			}
		}
	}
	for _, s := range at.Stays {
		if s.Covers(now) {
			since = later(since, s.From)
		}
	}
	return since
}
