package web

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A Previewer lives through the last days once more and says what a rule would
// have told with other limits. It may take many seconds, and may be called
// from several goroutines: a refusal is a *monitor.Refusal.
type Previewer interface {
	Preview(ctx context.Context, q monitor.PreviewQuestion) (monitor.Preview, error)
}

var _ Previewer = (*monitor.Monitor)(nil)

type tuneBody struct {
	Rule           ruleLine
	Where          []choice // places or probes to choose from; with one chosen, none
	Subject, Place string
	ID             string // of the subject
	Error          string
	Now            string // what is in force there
	Fields         []field
	Request        string
	Tried          *tried
}

// tune lets the keeper try a rule's limit and delay on the past.
func (s *Server) tune(v *visit) error {
	values := v.r.URL.Query()
	values.Set("rule", v.r.PathValue("code"))
	return v.showTune(values, "", http.StatusOK)
}

func (v *visit) showTune(values url.Values, trouble string, code int) error {
	rule, ok := alerts.RuleFor(values.Get("rule"))
	if !ok {
		return missing{"rule " + values.Get("rule")}
	}
	b := tuneBody{Rule: v.ruleLine(rule), Error: trouble}
	subject := values.Get("place")
	place, name := v.tuned(rule, subject)
	if !monitor.Rehearsable(rule) || place == "" {
		b.Where = v.tunable(rule)
		return v.render("tune", frame{Title: rule.Title, Nav: "alerts", Body: b}, code)
	}
	b.ID, b.Subject, b.Place = subject, name, place
	own := v.snap.Book.Limits[place]
	own.Place = place
	b.Now = v.inForce(rule, own)
	b.Fields = v.tuneFields(rule, own, values)
	if trouble == "" && values.Has("try") {
		trials := []book.LimitsData{own}
		trial, wrong := v.readTuned(rule, own, values)
		if len(b.Fields) > 0 {
			trials = append(trials, trial)
		}
		if wrong == nil {
			b.Tried, wrong = v.try(rule, subject, trials)
		}
		if wrong != nil {
			return v.showTune(values, capital(wrong.Text)+".", http.StatusUnprocessableEntity)
		}
		b.Request = newRequest()
	}
	return v.render("tune", frame{Title: rule.Title, Nav: "alerts", Body: b}, code)
}

// tuned gives the place that a subject of the rule is, or is in, and its name;
// "": there is no such subject.
func (v *visit) tuned(rule alerts.Rule, subject string) (place, name string) {
	b, now := v.snap.Book, v.snap.Time
	if rule.About == alerts.ProbeSubject {
		for _, p := range b.Placements {
			if p.Probe == subject && p.Stay.Covers(now) {
				return p.Stay.Place, v.whereOf(alerts.Subject{Kind: alerts.ProbeSubject, ID: subject})
			}
		}
		return "", ""
	}
	if b.Places[subject] == nil || b.Gone[subject] {
		return "", ""
	}
	return subject, b.Path(subject, now)
}

// tunable lists where a rule can be tried.
func (v *visit) tunable(rule alerts.Rule) []choice {
	if !monitor.Rehearsable(rule) {
		return nil
	}
	at := func(id, text string) choice {
		return choice{"/alerts/rules/" + rule.Code + "?place=" + url.QueryEscape(id), text}
	}
	var out []choice
	for _, p := range v.snap.Probes {
		if rule.About == alerts.ProbeSubject && p.Place != "" {
			out = append(out, at(p.ID, v.whereOf(alerts.Subject{Kind: alerts.ProbeSubject, ID: p.ID})))
		}
	}
	for _, p := range v.snap.Places {
		if rule.About == alerts.PlaceSubject && len(p.Probes) > 0 && monitor.Judges(rule, p) {
			out = append(out, at(p.ID, p.Path))
		}
	}
	return out
}

// tuneFields ask for the limit and the delay, filled in with what was tried or
// is in force.
func (v *visit) tuneFields(rule alerts.Rule, own book.LimitsData, values url.Values) []field {
	var out []field
	if rule.About != alerts.PlaceSubject {
		return nil // the book has no word for it
	}
	if rule.Limit.Base != alerts.Given {
		f := field{Name: "limit", Label: "Limit", Mode: "decimal", Half: true, Suffix: v.say.Unit()}
		if rule.Limit.Base == alerts.FromSetpoint {
			f.Label = "Off the setpoint by"
		}
		if limit := limitOf(rule, own); limit != nil {
			f.Value = v.shownLimit(rule, *limit)
		}
		if rule.Unit == "ratio" {
			f.Suffix = "%"
		}
		out = append(out, f)
	}
	out = append(out, field{
		Name: "minutes", Label: "For", Mode: "decimal", Half: true, Suffix: "min",
		Value: strconv.FormatFloat(thousandths(delayOf(rule, own).Minutes()), 'f', -1, 64),
	})
	for i := range out {
		if values.Has(out[i].Name) {
			out[i].Value = values.Get(out[i].Name)
		}
	}
	return out
}

// shownLimit is a limit in the visitor's unit, as a field holds it.
func (v *visit) shownLimit(rule alerts.Rule, limit float64) string {
	switch {
	case rule.Unit == "ratio":
		limit *= 100
	case rule.Limit.Base == alerts.FromSetpoint && v.say.fahrenheit:
		limit *= 1.8
	case rule.Limit.Base != alerts.FromSetpoint:
		limit = v.say.degrees(incubation.Celsius(limit))
	}
	return strconv.FormatFloat(thousandths(limit), 'f', -1, 64)
}

// postTune writes the values that were tried into the book as the place's own.
func (s *Server) postTune(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	values := v.r.PostForm
	rule, ok := alerts.RuleFor(values.Get("rule"))
	if !ok {
		return missing{"rule " + values.Get("rule")}
	}
	subject := values.Get("place")
	place, _ := v.tuned(rule, subject)
	if place == "" || !monitor.Rehearsable(rule) {
		return missing{"place " + subject}
	}
	own := v.snap.Book.Limits[place]
	own.Place = place
	trial, wrong := v.readTuned(rule, own, values)
	if wrong != nil {
		return v.showTune(values, capital(wrong.Text)+".", http.StatusUnprocessableEntity)
	}
	text, err := json.Marshal(trial)
	if err != nil {
		return err
	}
	done, err := s.do(v.r.Context(), monitor.Change{Entry: &book.Entry{
		Request: values.Get("request"), Zone: v.say.in(time.Time{}).Location().String(), By: who,
		Kind: book.KindLimits, Data: text,
	}})
	if err != nil {
		p, code := s.why(err)
		return v.showTune(values, capital(p.Text)+".", code)
	}
	back := "/alerts/rules/" + rule.Code + "?place=" + url.QueryEscape(subject)
	http.Redirect(v.w, v.r, written(back, done.Entry.Seq, false), http.StatusSeeOther)
	return nil
}
