package web

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

type alertsBody struct {
	Error   string
	Active  []alertLine
	Over    []alertLine // cleared, not yet acknowledged
	Shelved []alertLine
}

// An alertLine is one alert with what can be done about it.
type alertLine struct {
	ID, Occurrence string
	State          state
	Text, Subject  string
	Title          string // of its rule
	Href           string // of what it is about
	Since, Facts   string
	Phase          string
	Acknowledged   string
	Shelved        string
	Told           bool
	CanAcknowledge bool
	CanShelve      bool
	Back           string // the page it is shown on, to return to
}

func (s *Server) alertsNow(v *visit) error { return v.showAlerts("", http.StatusOK) }

func (v *visit) showAlerts(trouble string, code int) error {
	now := v.snap.Time
	b := alertsBody{
		Error:   trouble,
		Active:  v.alertLines(func(a alerts.State) bool { return a.Told() && !shelved(a, now) }),
		Over:    v.alertLines(func(a alerts.State) bool { return !a.Told() && !shelved(a, now) }),
		Shelved: v.alertLines(func(a alerts.State) bool { return shelved(a, now) }),
	}
	return v.render("alerts", frame{Title: "Alerts", Nav: "alerts", Body: b}, code)
}

func about(id string) func(alerts.State) bool {
	return func(a alerts.State) bool {
		return a.Subject.ID == id &&
			a.Subject.Kind == alerts.PlaceSubject
	}
}

func (v *visit) alertLines(keep func(alerts.State) bool) []alertLine {
	var out []alertLine
	for _, a := range v.snap.Alerts {
		if keep(a) {
			l := v.alertLine(a)
			if l.Back = "/alerts"; v.r.Method == http.MethodGet {
				l.Back = v.r.URL.Path
			}
			out = append(out, l)
		}
	}
	return out
}

func (v *visit) alertLine(a alerts.State) alertLine {
	w, now := v.say, v.snap.Time
	l := alertLine{
		ID: a.Alert, Title: ruleTitle(a.Rule), Occurrence: a.Occurrence, State: stateOf(a.Severity), Text: a.Text,
		Subject: a.Subject.Name, Href: subjectHref(a.Subject),
		Since: w.moment(a.Since) + ", " + w.age(a.Since), Told: a.Told(),
	}
	if worst := w.value(a.Value, a.Unit); worst != "" {
		l.Facts = "worst " + worst
		if limit := w.value(a.Limit, a.Unit); limit != "" {
			l.Facts += ", limit " + limit
		}
	}
	if !a.Acknowledged.IsZero() {
		l.Acknowledged = "acknowledged " + w.moment(a.Acknowledged) + by(a.AcknowledgedBy)
	}
	if shelved(a, now) {
		l.Shelved = because("shelved until "+w.moment(a.ShelvedUntil)+by(a.ShelvedBy), a.ShelvedWhy)
	}
	switch {
	case !a.Told():
		l.State, l.Phase = quiet, "over since "+w.moment(a.Ended)
	case !a.Ended.IsZero() && a.Latched:
		l.Phase = "went by itself " + w.moment(a.Ended) + ", stays until you acknowledge it"
	case !a.Ended.IsZero():
		l.Phase = "its condition is gone since " + w.moment(a.Ended)
	}
	l.CanAcknowledge = a.Acknowledged.IsZero() && a.Occurrence != ""
	l.CanShelve = a.Told() && !shelved(a, now) && a.Occurrence != ""
	return l
}

func ruleTitle(code string) string {
	for _, r := range alerts.Rules() {
		if r.Code == code {
			return r.Title
		}
	}
	return strings.ReplaceAll(code, "-", " ")
}

func by(who string) string {
	if who == "" {
		return ""
	}
	return " by " + who
}

func subjectHref(s alerts.Subject) string {
	switch s.Kind {
	case alerts.PlaceSubject:
		return "/places/" + s.ID
	case alerts.ClutchSubject:
		return "/clutches/" + s.ID
	}
	return ""
}

// who is written beside what the pages change, until there are users.
const who = "page"

func (s *Server) acknowledgeForm(v *visit) error {
	return v.change(monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert:      v.r.PathValue("id"),
		Occurrence: v.r.PostFormValue("occurrence"), By: who, Why: v.r.PostFormValue("why"),
	}})
}

// change does what a button asks for and shows the alerts, or the page that
// the button was on.
func (v *visit) change(c monitor.Change) error {
	_, err := v.s.do(v.r.Context(), c)
	if err == nil {
		http.Redirect(v.w, v.r, localPath(v.r.PostFormValue("back")), http.StatusSeeOther)
		return nil
	}
	p, code := v.s.why(err)
	return v.showAlerts(capital(p.Text)+".", code)
}

// do sends a change through the door, for a person who may have gone: what
// was asked for is finished even when the phone hangs up.
func (s *Server) do(ctx context.Context, c monitor.Change) (monitor.Done, error) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 20*time.Second)
	defer cancel()
	return s.o.Door.Do(ctx, c)
}

// A problem is why something was refused: one sentence, and the field to
// blame if there is one.
type problem struct {
	Field string `json:"field,omitempty"`
	Text  string `json:"error"`
}

// why turns an error of the door into what to tell and the status to tell it
// with.
func (s *Server) why(err error) (problem, int) {
	if r, ok := errors.AsType[*monitor.Refusal](err); ok {
		return problem{r.Field, r.Text}, http.StatusUnprocessableEntity
	}
	s.o.Log.Error("change not made", "error", err)
	return problem{Text: "it could not be written down just now: try again"},
		http.StatusServiceUnavailable
}
