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
	all, silent := bySource(probes), map[string][]ProbeNow{}
	for through, its := range all {
		for _, p := range its {
			if m.probes[p.ID].hushed(now) {
				silent[through] = append(silent[through], p)
			}
		}
	}
	for _, p := range probes {
		through := p.Through
		its, ok := all[through]
		n := len(its)
		if !ok || n < 2 {
			continue
		}
		delete(all, through) // each once, in the order of its first probe
		mute := silent[through]
		o := alerts.Observation{
			Subject: sourceNamed(through), Known: true, Beyond: len(mute) >= 2 && 2*len(mute) >= n,
		}
		if !o.Beyond && m.allSilent(its, mute, now) {
			o.Beyond, mute = true, its
		}
		if o.Beyond {
			o.Detail = fmt.Sprintf("%d of %d: %s.", len(mute), n, m.whereSilent(mute, now))
			for _, p := range mute {
				o.Eggs = append(o.Eggs, m.touchedBy(p, eggs[p.Place], now)...)
			}
			slices.Sort(o.Eggs)
			o.Eggs = slices.Compact(o.Eggs)
			o.Marks = m.marks(o.Eggs)
		}
		look(m.rule("silent-source"), o)
	}
}

// bySource gives the placed probes that are read through each source.
func bySource(probes []ProbeNow) map[string][]ProbeNow {
	out := map[string][]ProbeNow{}
	for _, p := range probes {
		if p.Place != "" && p.Through != "" {
			out[p.Through] = append(out[p.Through], p)
		}
	}
	return out
}

// allSilent reports whether a source has said nothing since one of its mute
// probes missed its turn, though each of the others was due to speak by the end
// of the rule's on-delay. One that is not due yet is no sign of life.
func (m *Monitor) allSilent(its, mute []ProbeNow, now time.Time) bool {
	soon := now.Add(m.rule("silent-source").OnDelay)
	return slices.ContainsFunc(mute, func(p ProbeNow) bool {
		return !slices.ContainsFunc(its, func(other ProbeNow) bool {
			o := m.probes[other.ID]
			return m.spokeAfter(other, p) || soon.Sub(o.last()) < o.probe.Interval
		})
	})
}

// spokeAfter reports whether another probe has spoken since one missed its turn.
func (m *Monitor) spokeAfter(other, p ProbeNow) bool {
	one := m.probes[p.ID]
	return m.probes[other.ID].last().After(one.last().Add(one.probe.Interval))
}

// inDoubt reports whether a silent probe may be so with its whole source: no
// other of it has spoken since. Once one has, it is the probe.
func (m *Monitor) inDoubt(p ProbeNow, its []ProbeNow, now time.Time) bool {
	return m.probes[p.ID].hushed(now) && len(its) > 1 &&
		!slices.ContainsFunc(its, func(other ProbeNow) bool { return m.spokeAfter(other, p) })
}

// dropsOut reports whether what a probe is read through is told to come and go.
// Then some of its probe's silences are told already, and one is news that lasts
// twice as long as another would.
func (m *Monitor) dropsOut(probe string) bool {
	through, ok := m.sourceOf(probe)
	if !ok {
		return false
	}
	s := m.states[alerts.AlertID("silent-source", through)]
	return s.Chatters && s.Told()
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
	return now.Sub(p.last()) > p.staleAfter()/5*4
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
