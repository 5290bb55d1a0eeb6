package web

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// An alertLine is one alert with what can be done about it.
type alertLine struct {
	ID, Occurrence string
	State          state
	Title          string // of its rule
	Where          string // what it is about, for a person who has to go there
	Href           string // of that
	Text           string // what, how bad, which eggs
	First          string // what to do first
	Lasts          string // how long so far
	Since          string
	Facts          string // worst value and limit
	Phase          string
	Acknowledged   string
	Shelved        string
	Told           bool
	CanAcknowledge bool
	CanShelve      bool
	CanUnshelve    bool
	Then           string // what a time to shelve it until starts out as
	Back           string // the page it is shown on, to return to

	rule     string
	severity alerts.Severity
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
		ID: a.Alert, Title: ruleTitle(a.Rule), Occurrence: a.Occurrence, State: stateOf(a.Severity),
		Where: v.whereOf(a.Subject), Href: v.alertHref(a.Subject), Facts: v.worst(a),
		Lasts: alerts.Lasting(now.Sub(a.Since)), Since: w.moment(a.Since), Told: a.Told(),
		Then: w.in(now.Add(5 * time.Hour).Truncate(time.Hour)).Format("2006-01-02T15:04"),
		rule: a.Rule, severity: a.Severity,
	}
	l.Text, l.First = firstOf(a)
	if !a.Acknowledged.IsZero() {
		l.Acknowledged = "acknowledged " + w.moment(a.Acknowledged) + by(a.AcknowledgedBy)
	}
	if shelved(a, now) {
		l.Shelved = because("shelved until "+w.moment(a.ShelvedUntil)+by(a.ShelvedBy), a.ShelvedWhy)
		l.CanUnshelve = a.Occurrence != ""
	}
	switch {
	case !a.Told():
		l.State, l.Phase = quiet, "over since "+w.moment(a.Ended)
		l.Lasts = alerts.Lasting(a.Ended.Sub(a.Since))
	case !a.Ended.IsZero() && a.Latched:
		l.Phase = "went by itself " + w.moment(a.Ended) + ", stays until you acknowledge it"
	case !a.Ended.IsZero():
		l.Phase = "its condition is gone since " + w.moment(a.Ended)
	}
	l.CanAcknowledge = a.Acknowledged.IsZero() && a.Occurrence != ""
	l.CanShelve = a.Told() && !shelved(a, now) && a.Occurrence != ""
	if v.asker.readOnly() {
		l.CanAcknowledge = l.CanAcknowledge && v.asker.may >= mayAcknowledge
		l.CanShelve, l.CanUnshelve = false, false
	}
	return l
}

// firstOf takes what to do first out of an alert's text, to stand by itself.
func firstOf(a alerts.State) (text, first string) {
	r, ok := alerts.RuleFor(a.Rule)
	if !ok || r.Text.First == "" || !a.Told() {
		return a.Text, ""
	}
	before, after, found := strings.Cut(a.Text, r.Text.First)
	if !found {
		return a.Text, ""
	}
	return strings.TrimSpace(strings.TrimSpace(before) + after), r.Text.First
}

// whereOf names what an alert is about, with where that is now.
func (v *visit) whereOf(s alerts.Subject) string {
	name := s.Name
	if name == "" {
		name = s.ID
	}
	within := ""
	switch s.Kind {
	case alerts.PlaceSubject:
		if p := placeOf(v.snap, s.ID); p != nil && p.Path != "" {
			return p.Path
		}
	case alerts.ProbeSubject:
		name = "Probe " + name
		if i := slices.IndexFunc(v.snap.Book.Placements, func(p incubation.Placement) bool {
			return p.Probe == s.ID && p.Stay.Covers(v.snap.Time)
		}); i >= 0 {
			within = v.snap.Book.Path(v.snap.Book.Placements[i].Stay.Place, v.snap.Time)
		}
	case alerts.EggSubject:
		name = "Egg " + name
		if e := v.snap.Book.Eggs[s.ID]; e != nil {
			within = v.snap.Book.Path(incubation.At(e.Stays, v.snap.Time), v.snap.Time)
		}
	}
	if within != "" {
		return name + ", " + within
	}
	return name
}

// alertHref is the page of what an alert is about; "": it has none.
func (v *visit) alertHref(s alerts.Subject) string {
	switch s.Kind {
	case alerts.ProbeSubject:
		for _, p := range v.snap.Probes {
			if p.ID == s.ID && p.Place != "" {
				return "/places/" + p.Place
			}
		}
	case alerts.EggSubject:
		if e := v.snap.Book.Eggs[s.ID]; e != nil {
			return "/clutches/" + e.Clutch
		}
	}
	return subjectHref(s)
}
