package alerts

import "time"

// DailyRule stands where a rule's code does in the message of the day, and
// ReasonDaily is why that is told. It is no alert: nothing is raised, and
// nothing waits to be seen.
const (
	DailyRule          = "daily"
	ReasonDaily Reason = "daily"
)

// Daily is the message of the day, and the state that remembers when it was
// told: normal, so that it stands among no alerts.
func Daily(s Subject, occurrence, text string, now time.Time) State {
	now = now.Round(0).UTC()
	return State{
		Alert: AlertID(DailyRule, s), Rule: DailyRule, Subject: s, Occurrence: occurrence, Phase: Normal,
		Severity: Info, Since: now, Text: plain(text), Raises: []time.Time{now},
	}
}

// ToldOn reports whether the message of the day was told on t's day in a zone.
// A clock that was set back by less than a day tells it no second time.
func (s State) ToldOn(t time.Time, zone *time.Location) bool {
	for _, told := range s.Raises {
		if sameDay(told, t, zone) || told.After(t) && told.Sub(t) < 24*time.Hour {
			return true
		}
	}
	return false
}

func sameDay(a, b time.Time, zone *time.Location) bool {
	y, m, d := a.In(zone).Date()
	y2, m2, d2 := b.In(zone).Date()
	return y == y2 && m == m2 && d == d2
}
