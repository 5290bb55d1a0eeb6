package monitor

import (
	"fmt"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// openNews is how long after its opening the TSP is worth a word. Eggs that
// are older when they are first looked at, as after an upgrade, make none.
// Judgement.
const openNews = 48 * time.Hour

// ofEgg looks at an egg's estimate.
func (m *Monitor) ofEgg(
	id string, egg *incubation.Egg, now time.Time, look func(alerts.Rule, alerts.Observation),
) {
	e := m.eggs.estimates[id]
	o := alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.EggSubject, ID: id, Name: m.marks([]string{id})[0]},
		// Until what hatched here has been learned from again, as after a start,
		// dates may still move: nothing is raised or ended on them.
		Known: e != nil && m.eggs.settled, Eggs: []string{id}, Place: m.book.Path(incubation.At(egg.Stays, now), now),
	}
	for _, code := range []string{"tsp-open", "hatch-near", "hatch-overdue"} {
		o.Steady = false
		if e != nil {
			switch code {
			case "tsp-open":
				o.Beyond = e.TSP.State == incubation.TSPOpen
				o.Steady = now.Sub(e.TSP.Opens) > openNews
				o.Detail = m.untilWhen(e.TSP, now)
			case "hatch-near":
				o.Beyond = !e.Hatch.Earliest.IsZero() && !now.Before(e.Hatch.Earliest)
				o.Detail = fmt.Sprintf("Most likely on %s.", m.day(e.Hatch.Likely))
			case "hatch-overdue":
				o.Beyond = e.Hatch.Overdue || !e.Hatch.Latest.IsZero() && now.After(e.Hatch.Latest)
				o.Detail = fmt.Sprintf("It was expected by %s.", m.day(e.Hatch.Latest))
			}
		}
		look(m.rule(code), o)
	}
}

// untilWhen says how long the temperature sets the sex, and how long a change
// of it still matters.
func (m *Monitor) untilWhen(t incubation.TSP, now time.Time) string {
	text := fmt.Sprintf("Until about %s.", m.day(t.Closes))
	if t.Closes.IsZero() {
		text = "It does not close within a year as things stand."
	}
	switch by, hour := t.DecideBy(now, m.zone); {
	case hour && by.Hour() == 0: // the day that it begins is too late already
		text += fmt.Sprintf(" Decide on a change by %s, about midnight.", m.day(by.Add(-time.Hour)))
	case hour:
		text += fmt.Sprintf(" Decide on a change by %s, about %s.", m.day(by), by.Format("15:04"))
	case !by.IsZero():
		text += fmt.Sprintf(" Decide on a change by %s.", m.day(by))
	}
	return text
}

// day writes a date as the room's calendar has it.
func (m *Monitor) day(t time.Time) string { return t.In(m.zone).Format("2 January") }
