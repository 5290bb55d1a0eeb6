package web

import (
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// alertSays tells what was done about an alert; false: the entry is of
// another kind.
func (t teller) alertSays(e book.Entry, data any) (string, bool) {
	switch d := data.(type) {
	case book.AlertData:
		did := " acknowledged"
		if e.Kind == book.KindUnshelved {
			did = " taken off the shelf"
		}
		return because(t.alert(d.Alert)+did, d.Why), true
	case book.ShelvedData:
		return because(t.alert(d.Alert)+" shelved until "+t.dated(d.Until, e.At), d.Why), true
	}
	return "", false
}

// alert names an alert by its rule and what it is about.
func (t teller) alert(id string) string {
	rule, rest, _ := strings.Cut(id, ".")
	kind, subject, _ := strings.Cut(rest, ".")
	if alerts.SubjectKind(kind) == alerts.SystemSubject {
		return "“" + ruleTitle(rule) + "”"
	}
	return "“" + ruleTitle(rule) + "” about " + t.subject(subject)
}

// dated tells a time, without its day if that is the day of another.
func (t teller) dated(at, other time.Time) string {
	if a, b := t.in(at), t.in(other); a.YearDay() == b.YearDay() && a.Year() == b.Year() {
		return a.Format("15:04")
	}
	return t.short(at) + " " + t.clock(at)
}
