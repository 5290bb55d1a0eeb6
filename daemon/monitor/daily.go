package monitor

import (
	"time"

	"clutchd/alerts"
)

const (
	// longestDaily is how long the message of the day may be: what a phone shows.
	longestDaily = 300
	// dailyFresh is how long after its time it is still worth telling, as when
	// the power was off: later the day is half gone. Judgement.
	dailyFresh = 3 * time.Hour
)

// tellDaily tells once a day what is due, at the time that the keeper set; on a
// day on which nothing is, nothing is told. When it was told is kept with the
// alerts, so that no restart tells it again. Caller holds mu.
func (m *Monitor) tellDaily(now time.Time) {
	at := m.book.Season.Daily
	if at == nil {
		return
	}
	local := now.In(m.zone)
	y, mon, d := local.Date()
	due := time.Date(y, mon, d, int(*at)/60, int(*at)%60, 0, 0, m.zone)
	id := alerts.AlertID(alerts.DailyRule, machine())
	if now.Before(due) || now.Sub(due) >= dailyFresh || m.states[id].ToldOn(now, m.zone) {
		return
	}
	w := m.seasonNow(now)
	s := alerts.Daily(machine(), m.newOccurrence(), w.herd.Brief(w.due, longestDaily), now)
	m.states[id] = s
	c := alerts.Changes{States: []alerts.State{s}}
	if s.Text != "" {
		c.Notices = []alerts.Notice{alerts.NewNotice(m.takeID(), s, alerts.ReasonDaily, now)}
		m.opt.Poster.Post(c.Notices...)
	}
	m.commit.told(nil, c)
}
