package monitor

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"clutchd/alerts"
)

// ofSources looks at what several probes are read through.
func (m *Monitor) ofSources(
	probes []ProbeNow, eggs map[string][]string, now time.Time,
	look func(alerts.Rule, alerts.Observation),
) {
	all, silent := map[string]int{}, map[string][]ProbeNow{}
	for _, p := range probes {
		if p.Place == "" || p.Through == "" {
			continue
		}
		all[p.Through]++
		if m.probes[p.ID].hushed(now) {
			silent[p.Through] = append(silent[p.Through], p)
		}
	}
	for _, p := range probes {
		through := p.Through
		n, ok := all[through]
		if !ok || n < 2 {
			continue
		}
		delete(all, through) // each once, in the order of its first probe
		mute := silent[through]
		o := alerts.Observation{
			Subject: sourceNamed(through), Known: true, Beyond: len(mute) >= 2 && 2*len(mute) >= n,
		}
		if o.Beyond {
			o.Detail = fmt.Sprintf("%d of %d: %s.", len(mute), n, m.whereSilent(mute, now))
			for _, p := range mute {
				o.Eggs = append(o.Eggs, eggs[p.Place]...)
			}
			slices.Sort(o.Eggs)
			o.Eggs = slices.Compact(o.Eggs)
			o.Marks = m.marks(o.Eggs)
		}
		look(m.rule("silent-source"), o)
	}
}

// fewPlaces is how many places a sentence names before it counts the rest.
const fewPlaces = 5

// whereSilent names the places of silent probes.
func (m *Monitor) whereSilent(mute []ProbeNow, now time.Time) string {
	var names []string
	for _, p := range mute {
		if at := m.book.Places[p.Place]; at != nil && !slices.Contains(names, at.Name) {
			names = append(names, at.Name)
		}
	}
	if n := len(names) - fewPlaces; n > 0 {
		names = append(names[:fewPlaces], fmt.Sprintf("%d more places", n))
	}
	return strings.Join(names, ", ")
}

// hushed reports whether a probe has been silent for four fifths of the time
// after which that is told: long enough where others are silent too.
func (p *probeState) hushed(now time.Time) bool {
	last := p.latest.Time
	if last.IsZero() {
		last = p.seen
	}
	return now.Sub(last) > p.staleAfter()/5*4
}

// sourceOf is the bus or broker that a probe is read through, as the subject
// of an alert; false: none is known.
func (m *Monitor) sourceOf(probe string) (alerts.Subject, bool) {
	s := m.probes[probe]
	if s == nil || s.probe.Through == "" {
		return alerts.Subject{}, false
	}
	return sourceNamed(s.probe.Through), true
}

// sourceNamed makes a subject of a bus or broker; its id is fit for a topic.
func sourceNamed(through string) alerts.Subject {
	id := strings.Map(func(r rune) rune {
		if r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return '-'
		}
		return unicode.ToLower(r)
	}, through)
	return alerts.Subject{Kind: alerts.SystemSubject, ID: id, Name: through}
}
