package web

import (
	"net/http"
	"strings"

	"clutchd/alerts"
)

type rulesBody struct {
	Rules     []ruleLine
	Reminders []reminderLine
}

// A reminderLine says how often a severity is told again, and why.
type reminderLine struct {
	Pauses, Why, Mark string
	State             state
}

// A ruleLine is one rule with the reason for its numbers.
type ruleLine struct {
	Code, Title, Limit, Delay, Why, Mark string
	State                                state
	Latching, Waits                      bool
	Rises                                []string // "critical after 2 h"
}

// rules shows every rule there is, as it starts out.
func (s *Server) rules(v *visit) error {
	scale := alerts.InCelsius
	if v.say.fahrenheit {
		scale = alerts.InFahrenheit
	}
	var b rulesBody
	for _, r := range alerts.Rules() {
		l := ruleLine{
			Code: r.Code, Title: r.Title, Limit: r.Condition(scale), Why: r.Why,
			Mark: string(r.Mark), State: stateOf(r.Severity), Latching: r.Latching,
			Waits: r.Settles,
		}
		if r.OnDelay > 0 {
			l.Delay = "for " + span(r.OnDelay)
		}
		for _, rise := range r.Rises {
			l.Rises = append(l.Rises, string(rise.To)+" after "+span(rise.After))
		}
		b.Rules = append(b.Rules, l)
	}
	for _, r := range alerts.Reminders() {
		var pauses []string
		for _, p := range r.Pauses {
			pauses = append(pauses, span(p))
		}
		b.Reminders = append(b.Reminders, reminderLine{
			Pauses: strings.Join(pauses, ", "), Why: r.Why, Mark: string(r.Mark), State: stateOf(r.Severity),
		})
	}
	return v.render("rules", frame{Title: "Rules", Nav: "alerts", Body: b}, http.StatusOK)
}
