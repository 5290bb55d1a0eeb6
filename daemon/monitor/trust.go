package monitor

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// spikesTold is how many readings that nothing bears out are news, spikesOver
// how few are none: counted as sensors.Stream.Spikes does. Judgement.
const (
	spikesTold = 3
	spikesOver = 1
)

// ofTrust tells of probes that are in doubt. Caller holds mu.
func (m *Monitor) ofTrust(probes []ProbeNow, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	for _, p := range probes {
		s := m.probes[p.ID]
		if p.Place == "" || s == nil {
			continue
		}
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.ProbeSubject, ID: p.ID, Name: p.ID},
			Known:   !p.Stale && !p.Latest.Time.IsZero(),
		}
		v := s.trusted.verdict
		// What rests on a probe takes long to say, and mostly nobody asks.
		rests := sync.OnceFunc(func() {
			o.Place, o.Eggs = m.book.Path(p.Place, now), m.restOn(p.ID, now)
			o.Marks, o.Detail = m.marks(o.Eggs), m.rests(p, o.Eggs)
		})
		tell := func(code string, beyond bool, detail string) {
			if _, stands := m.states[alerts.AlertID(code, o.Subject)]; !beyond && !stands {
				return
			}
			rests()
			one := o
			one.Beyond, one.Detail = beyond, strings.TrimSpace(detail+" "+o.Detail)
			look(m.rule(code), one)
		}
		if due, since := m.due(p, now); p.Calibrated != nil {
			tell("calibration-due", due, since)
		}
		tell("frozen", s.trusted.own == incubation.Frozen || v == incubation.Frozen, s.trusted.why(incubation.Frozen))
		jittery, how := m.jittery(s, o.Subject), ""
		if jittery {
			how = s.jitters()
		}
		tell("probe-doubt", jittery, how)
		first, _, _ := strings.Cut(s.trusted.partners, " ") // tells for all of them
		alone := first == "" || first == p.ID
		tell("probe-drift", v == incubation.Drifting || v == incubation.Disagreeing && alone,
			s.trusted.why(incubation.Drifting, incubation.Disagreeing))
		tell("probe-slipped", v == incubation.Slipped, s.trusted.why(incubation.Slipped))
		tell("probes-swapped", v == incubation.Swapped && alone, s.trusted.why(incubation.Swapped))
	}
}

// why is the sentence behind one of these verdicts, "" if it is another.
func (h *heard) why(of ...incubation.Quality) string {
	if slices.Contains(of, h.verdict) {
		return h.because
	}
	return ""
}

// jittery reports whether a probe gave spikes in number, or jumped. Once told
// it takes quiet to be over.
func (m *Monitor) jittery(s *probeState, about alerts.Subject) bool {
	most := float64(spikesTold)
	if p := m.states[alerts.AlertID("probe-doubt", about)].Phase; p != "" && p != alerts.Normal {
		most = spikesOver
	}
	return s.trusted.own == incubation.Jumped || s.trusted.stream.Spikes() > most-0.5
}

func (s *probeState) jitters() string {
	if s.trusted.own == incubation.Jumped {
		return "It jumped faster than air can."
	}
	return fmt.Sprintf("About %.0f of its last readings stood alone.", s.trusted.stream.Spikes())
}

// restOn gives the live eggs whose estimate rests on a probe: it is among the
// nearest that speak for them.
func (m *Monitor) restOn(probe string, now time.Time) []string {
	var out []string
	room := m.book.Room()
	for _, id := range slices.Sorted(maps.Keys(m.book.Eggs)) {
		egg := m.book.Eggs[id]
		if !egg.Live() {
			continue
		}
		sources := incubation.Sources(room, egg.Stays, now)
		for _, s := range sources {
			if s.Probe == probe && s.Position == sources[0].Position {
				out = append(out, id)
			}
		}
	}
	return out
}

// touchedBy gives the live eggs that a probe's silence touches: those in its own
// incubator or box, and those whose estimate rests on it. A room's probe touches
// no others of the room. there are the eggs of its place.
func (m *Monitor) touchedBy(p ProbeNow, there []string, now time.Time) []string {
	out := m.restOn(p.ID, now)
	if at := m.book.Places[p.Place]; at != nil && (at.Kind == incubation.Incubator || at.Kind == incubation.Box) {
		out = append(out, there...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// stillLive gives those of the eggs that are live by now.
func (m *Monitor) stillLive(eggs []string) []string {
	return slices.DeleteFunc(slices.Clone(eggs), func(id string) bool {
		egg := m.book.Eggs[id]
		return egg == nil || !egg.Live()
	})
}

// rests says whether anything else watches the eggs that rest on a probe.
func (m *Monitor) rests(p ProbeNow, eggs []string) string {
	if len(eggs) == 0 {
		return ""
	}
	for id, other := range m.probes {
		at, placed := placement(m.book, id, m.clock.now)
		near := placed && (at.Stay.Place == p.Place || at.Stay.Place == incubation.At(m.book.Places[p.Place].Stays, m.clock.now))
		if id != p.ID && near && !other.stale(m.clock.now) && !other.latest.Quality.Broken() {
			return "Their estimate rests on it."
		}
	}
	return "Their estimate rests on it, and no other probe watches them."
}
