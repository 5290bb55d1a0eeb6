package monitor

import (
	"strconv"

	"clutchd/alerts"
)

// settleAlert keeps an alert's new state and tells of the change if its reason
// is one that tells.
func (m *Monitor) settleAlert(s alerts.State, reason alerts.Reason) {
	_, had := m.states[s.Alert]
	over := s.Phase == alerts.Normal && s.ShelvedUntil.IsZero()
	if over {
		delete(m.states, s.Alert)
	} else {
		m.states[s.Alert] = s
	}
	if reason == alerts.ReasonStill && over != had {
		return
	}
	var states []alerts.State
	var forget []string
	if over {
		forget = []string{s.Alert}
	} else {
		states = []alerts.State{s}
	}
	var notices []alerts.Notice
	if alerts.Tells(reason) && !m.quiet {
		notices = append(notices, alerts.NewNotice(m.takeID(), s, reason, m.clock.now))
		m.opt.Poster.Post(notices...)
	}
	m.commit.told(states, forget, notices)
}

func (m *Monitor) newOccurrence() string { return "o" + strconv.FormatUint(m.takeID(), 36) }
