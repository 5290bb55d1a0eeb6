package web

import (
	"net/http"
	"strings"

	"clutchd/alerts"
)

type rulesBody struct {
	Rules     []ruleLine
	Reminders []reminderLine
	// Recent sums the last 30 days up; Figures stand beside the standards'.
	Recent          string
	Figures         []alerts.Figure
	Benchmark, Goal string
	Top             []topLine
}

// A topLine is one of the alerts that were raised most often.
type topLine struct{ Title, Subject, Times string }

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
	Count                                string   // how often it told in the last 30 days
	Past                                 string   // where to look at those; "": it never spoke
	Tune                                 string   // where to try other limits; "": it has none to try
}

// rules shows every rule there is, as it starts out, and how often it told.
func (s *Server) rules(v *visit) error {
	t, err := s.recently(v)
	if err != nil {
		return err
	}
	b := rulesBody{Recent: saysRecent(t), Figures: t.Figures(), Benchmark: alerts.Benchmark, Goal: alerts.Goal}
	for _, r := range alerts.Rules() {
		l := v.ruleLine(r)
		if c := t.Of(r.Code); c.Raised > 0 {
			l.Count, l.Past = "in the last 30 days: "+saysCounted(c), "/alerts/history?rule="+r.Code
		}
		b.Rules = append(b.Rules, l)
	}
	for _, c := range t.Top {
		b.Top = append(b.Top, topLine{ruleTitle(c.Rule), c.Subject.Name, several(c.Raised, "time", "times")})
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

// ruleLine tells a rule as it starts out.
func (v *visit) ruleLine(r alerts.Rule) ruleLine {
	l := ruleLine{
		Code: r.Code, Title: r.Title, Limit: r.Condition(v.say.scale()), Why: r.Why,
		Mark: string(r.Mark), State: stateOf(r.Severity), Latching: r.Latching,
		Waits: r.Settles, Count: "never told in the last 30 days",
	}
	if r.OnDelay > 0 {
		l.Delay = "for " + span(r.OnDelay)
	}
	for _, rise := range r.Rises {
		l.Rises = append(l.Rises, string(rise.To)+" after "+span(rise.After))
	}
	if len(v.tunable(r)) > 0 {
		l.Tune = "/alerts/rules/" + r.Code
	}
	return l
}

// recently counts what was told in the last 30 days.
func (s *Server) recently(v *visit) (alerts.Tally, error) {
	from, to := v.snap.Time.Add(-recent), v.snap.Time
	past, err := s.past(v.r.Context(), from, to)
	if err != nil {
		return alerts.Tally{}, err
	}
	return alerts.Count(past, from, to, s.o.Zone), nil
}

func saysRecent(t alerts.Tally) string {
	if t.Raised == 0 {
		return "No alert was told in the last 30 days."
	}
	return "In the last 30 days: " + saysCounted(t.Counted)
}
