package monitor

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// A seasonWatch is what was found of the season at the last look: one at each
// change of the book, one an hour, and one when estimates of eggs came for the
// first time, as after a start. A look takes long on a small computer, and
// nothing of the season turns on minutes.
type seasonWatch struct {
	of     *book.State
	at     time.Time // the look
	firsts int       // the eggWatch's then
	herd   *season.Herd
	due    []season.Item
	vet    map[string]string // by female: why
	unseen map[string]string // by female: why
	late   []string          // females
}

// firstsEvery is how long estimates that come one after another are gathered
// for one look. Judgement.
const firstsEvery = time.Minute

// stands reports whether a look still holds.
func (w *seasonWatch) stands(s *book.State, now time.Time, firsts int) bool {
	return w.of == s && w.at.Truncate(time.Hour).Equal(now.Truncate(time.Hour)) &&
		(w.firsts == firsts || now.Sub(w.at) < firstsEvery)
}

// seasonNow looks at the season, if it is time to. Caller holds mu.
func (m *Monitor) seasonNow(now time.Time) *seasonWatch {
	w := &m.season
	if firsts := m.eggs.firsts; !w.stands(m.book, now, firsts) {
		*w = seasonWatch{of: m.book, at: now, firsts: firsts}
		w.herd = season.Look(m.book, now, season.Options{Zone: m.zone, Hatch: m.windows()})
		w.due = w.herd.Due()
		w.vet = map[string]string{}
		for _, i := range w.due {
			if i.Kind == season.Vet {
				w.vet[i.Animals[0]] = i.Why
			}
		}
		if w.herd.Kept() {
			w.unseen, w.late = w.herd.Unseen(), season.Late(w.due, now)
		}
	}
	return w
}

// windows gives the hatch windows of the live eggs.
func (m *Monitor) windows() map[string]incubation.HatchSpan {
	out := make(map[string]incubation.HatchSpan, len(m.eggs.estimates))
	for id, e := range m.eggs.estimates {
		if e != nil {
			out[id] = e.Hatch
		}
	}
	return out
}

// ofSeason looks at the females. Without a clock that is right nothing is known
// of days.
func (m *Monitor) ofSeason(now time.Time, look func(alerts.Rule, alerts.Observation)) {
	if m.quiet {
		return
	}
	w := &seasonWatch{}
	if m.clock.trusted {
		w = m.seasonNow(now)
	}
	m.ofFemales("vet", w.vet, look)
	m.ofFemales("lay-box", w.unseen, look)
	o := alerts.Observation{Subject: machine(), Known: m.clock.trusted, Beyond: len(w.late) > 0}
	if o.Beyond {
		o.Detail = m.lateWords(w.late)
	}
	look(m.rule("checks-due"), o)
	if m.clock.trusted {
		m.tellDaily(now)
	}
}

// ofFemales has a rule judged of those that there is a reason for, and of those
// that were told of.
func (m *Monitor) ofFemales(code string, why map[string]string, look func(alerts.Rule, alerts.Observation)) {
	about := map[string]bool{}
	for id := range why {
		about[id] = true
	}
	for _, s := range m.states {
		if a := m.book.Animals[s.Subject.ID]; s.Rule == code && a != nil && a.Here() {
			about[s.Subject.ID] = true
		}
	}
	for _, id := range slices.Sorted(maps.Keys(about)) {
		look(m.rule(code), alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.FemaleSubject, ID: id, Name: m.book.Name(id)},
			Known:   m.clock.trusted, Beyond: why[id] != "", Detail: why[id],
		})
	}
}

// lateWords names the females whose checks are late.
func (m *Monitor) lateWords(ids []string) string {
	const most = 5
	var names []string
	for _, id := range ids[:min(len(ids), most)] {
		names = append(names, m.book.Name(id))
	}
	text := strings.Join(names, ", ")
	if rest := len(ids) - most; rest > 0 {
		text += fmt.Sprintf(" and %d more", rest)
	}
	return text + "."
}
