package monitor

import (
	"strconv"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// settleAlert keeps an alert's new state and tells of the change if its reason
// is one that tells. Entries are what the book says of the change: they are
// stored with it.
func (m *Monitor) settleAlert(s alerts.State, reason alerts.Reason, entries ...book.Entry) {
	s, tells := m.goesOut(s, reason)
	_, had := m.states[s.Alert]
	over := !s.Lingers()
	if over {
		delete(m.states, s.Alert)
	} else {
		m.states[s.Alert] = s
	}
	if reason == alerts.ReasonStill && over != had {
		return
	}
	c := alerts.Changes{Past: logPast(s)}
	if over {
		c.Forget = []string{s.Alert}
	} else {
		c.States = []alerts.State{s}
	}
	if tells {
		c.Notices = []alerts.Notice{alerts.NewNotice(m.takeID(), s, reason, m.clock.now)}
		m.opt.Poster.Post(c.Notices...)
	}
	m.commit.told(entries, c)
}

func (m *Monitor) newOccurrence() string { return "o" + strconv.FormatUint(m.takeID(), 36) }
