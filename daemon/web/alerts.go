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
	Active  []alertGroup // worst first; within that what nobody has seen first
	Over    []alertLine  // cleared, not yet acknowledged
	Shelved []alertLine
	Out     []outLine // out of service
	Recent  string    // the last 30 days; "": their log cannot be read
	Silent  bool      // nothing was told in them
}

func (s *Server) alertsNow(v *visit) error { return v.showAlerts("", http.StatusOK) }

func (v *visit) showAlerts(trouble string, code int) error {
	now := v.snap.Time
	b := alertsBody{
		Error: trouble, Out: v.outLines(),
		Active:  groups(v.alertLines(func(a alerts.State) bool { return a.Told() && !shelved(a, now) })),
		Over:    v.alertLines(func(a alerts.State) bool { return !a.Told() && !shelved(a, now) }),
		Shelved: v.alertLines(func(a alerts.State) bool { return shelved(a, now) }),
	}
	// Whoever was woken must see what for, whatever has become of the disk.
	if t, err := v.s.recently(v); err != nil {
		v.s.o.Log.Error("alerts shown without their log", "error", err)
	} else {
		b.Recent, b.Silent = saysRecent(t), t.Raised == 0
	}
	return v.render("alerts", frame{Title: "Alerts", Nav: "alerts", Body: b}, code)
}

func about(id string) func(alerts.State) bool {
	return func(a alerts.State) bool {
		return a.Subject.ID == id &&
			a.Subject.Kind == alerts.PlaceSubject
	}
}

func ruleTitle(code string) string {
	if r, ok := alerts.RuleFor(code); ok {
		return r.Title
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
	case alerts.FemaleSubject:
		return "/females/" + s.ID
	}
	return ""
}

// who is written beside what the pages change for somebody without a name; see
// sign.
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
	a, _ := ctx.Value(askerKey{}).(asker)
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 20*time.Second)
	defer cancel()
	return s.o.Door.Do(ctx, a.sign(c))
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
