package web

import (
	"net/http"

	"clutchd/alerts"
)

type rulesBody struct{ Rules []ruleLine }

// A ruleLine is one rule with the reason for its numbers.
type ruleLine struct {
	Code, Title, Limit, Delay, Why, Mark string
	State                                state
	Latching, Waits                      bool
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
		b.Rules = append(b.Rules, l)
	}
	return v.render("rules", frame{Title: "Rules", Nav: "alerts", Body: b}, http.StatusOK)
}
