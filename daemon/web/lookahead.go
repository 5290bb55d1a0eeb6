package web

import (
	"sync"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// lookEvery is how old a look at the herd may be before it is made anew, as
// long as nobody writes anything down and no egg gets its first estimate, as
// after a start: hatch windows move meanwhile.
const lookEvery = 10 * time.Minute

// looks keeps the newest look at the herd: many pages ask, and most of them
// about the same book.
type looks struct {
	mu    sync.Mutex
	state *book.State
	now   time.Time
	dated int // eggs that had a hatch window then
	// said are the looks by how their sentences are written; the figures behind
	// them are worked out once for all.
	said      map[words]*herdLook
	plain     func() *season.Herd
	ahead     func() season.Forecast
	fertility func() season.Fertility
}

// A herdLook is the herd as one book tells it, and what was asked of it.
type herdLook struct {
	herd      *season.Herd
	due       func() []season.Item
	ahead     func() season.Forecast
	fertility func() season.Fertility
}

// herdAt gives the herd as the snapshot's book tells it.
func (s *Server) herdAt(snap *monitor.Snapshot, say words) *herdLook {
	l := &s.looks
	l.mu.Lock()
	defer l.mu.Unlock()
	dated := len(windows(snap))
	if l.state != snap.Book || l.dated != dated || snap.Time.Before(l.now) || snap.Time.Sub(l.now) >= lookEvery ||
		say.in(l.now).YearDay() != say.in(snap.Time).YearDay() {
		plain := sync.OnceValue(func() *season.Herd {
			return s.newHerd(snap, snap.Time, words{zone: s.o.Zone, now: snap.Time, dates: inWords})
		})
		l.state, l.now, l.said, l.plain = snap.Book, snap.Time, map[words]*herdLook{}, plain
		l.dated = dated
		l.fertility = sync.OnceValue(func() season.Fertility { return plain().Fertility() })
		l.ahead = sync.OnceValue(func() season.Forecast { return plain().Ahead(season.Span{}) })
	}
	key := words{dates: say.dates, fahrenheit: say.fahrenheit}
	if l.said[key] == nil {
		h := l.plain()
		if key != (words{dates: inWords}) {
			h = s.newHerd(snap, snap.Time, say)
		}
		l.said[key] = &herdLook{herd: h, due: sync.OnceValue(h.Due), ahead: l.ahead, fertility: l.fertility}
	}
	return l.said[key]
}

// newHerd looks at the herd as it is at a time, if nothing more is written
// down until then.
func (s *Server) newHerd(snap *monitor.Snapshot, at time.Time, say words) *season.Herd {
	return season.Look(snap.Book, at, season.Options{
		Zone: s.o.Zone, Hatch: windows(snap), Day: say.day,
		Temperature: func(c incubation.Celsius) string { return teller{words: say}.exact(c) },
	})
}

func (v *visit) look() *herdLook { return v.s.herdAt(v.snap, v.say) }

// windows are the hatch windows of the live eggs, by egg.
func windows(snap *monitor.Snapshot) map[string]incubation.HatchSpan {
	out := map[string]incubation.HatchSpan{}
	for _, c := range snap.Clutches {
		for _, e := range c.Eggs {
			if live(e) && e.Estimate != nil {
				out[e.ID] = e.Estimate.Hatch
			}
		}
	}
	return out
}
