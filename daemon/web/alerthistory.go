package web

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// A Past gives the occurrences raised in [from, to), oldest first, as they
// last were, those that go on included. Past may be called from several
// goroutines.
type Past interface {
	Past(ctx context.Context, from, to time.Time) ([]alerts.State, error)
}

const (
	// recent is the stretch that figures are told of where no month is chosen:
	// the standards judge by thirty days or more.
	recent = 30 * 24 * time.Hour
	// pastAlertsMost is how many occurrences a page lists; the API has all.
	pastAlertsMost = 200
)

type alertHistoryBody struct {
	Month         string // its name
	Before, After string // addresses of the months beside it; After "": this month is the last
	Says          string
	Empty         string
	Here          string // the month as the filter's form sends it
	Rules, Places []option
	Narrowed      bool // by a rule or a place
	Days          []alertDay
	More          int
}

// An alertDay is the occurrences raised on one day.
type alertDay struct {
	Day   string
	Lines []pastAlertLine
}

type pastAlertLine struct {
	State                         state
	Title, Subject, Href          string
	When, Facts, Seen, Sign, Text string
}

func (s *Server) alertHistory(v *visit) error {
	month := v.month()
	rule, place := v.asked("rule"), v.asked("place")
	past, err := s.past(v.r.Context(), month, month.AddDate(0, 1, 0))
	if err != nil {
		return err
	}
	b := alertHistoryBody{
		Month: v.say.month(month), Here: month.Format("2006-01"), Narrowed: rule+place != "",
		Before: v.monthHref(month.AddDate(0, -1, 0)),
		Rules:  options(rule, "", "every rule"), Places: append(options(place, "", "every place"), v.places(place)...),
	}
	if next := month.AddDate(0, 1, 0); !next.After(v.snap.Time) {
		b.After = v.monthHref(next)
	}
	for _, r := range alerts.Rules() {
		b.Rules = append(b.Rules, option{r.Code, r.Title, r.Code == rule})
	}
	past = slices.DeleteFunc(past, func(a alerts.State) bool {
		return rule != "" && a.Rule != rule || place != "" && placeOfAlert(v.snap, a) != place
	})
	b.Says, b.Empty = v.saysPast(past, month, b.Narrowed)
	slices.Reverse(past)
	b.More = max(0, len(past)-pastAlertsMost)
	for _, a := range past[:len(past)-b.More] {
		day := v.say.weekday(a.Raised)
		if n := len(b.Days); n == 0 || b.Days[n-1].Day != day {
			b.Days = append(b.Days, alertDay{Day: day})
		}
		d := &b.Days[len(b.Days)-1]
		d.Lines = append(d.Lines, v.pastAlertLine(a))
	}
	return v.render("alerthistory", frame{Title: "Past alerts", Nav: "alerts", Body: b}, http.StatusOK)
}

// past asks for past occurrences; without a log there were none.
func (s *Server) past(ctx context.Context, from, to time.Time) ([]alerts.State, error) {
	if s.o.Past == nil {
		return nil, nil
	}
	past, err := s.o.Past.Past(ctx, from.UTC(), to.UTC())
	if err != nil {
		return nil, fmt.Errorf("read past alerts: %w", err)
	}
	return past, nil
}

// month is the beginning of the month that is asked for, in the room's zone;
// this one, if none is or it is still to come.
func (v *visit) month() time.Time {
	now := v.say.in(v.snap.Time)
	this := time.Date(now.Year(), now.Month(), 1, 0, 0, 0, 0, now.Location())
	t, err := time.ParseInLocation("2006-01", v.asked("month"), now.Location())
	if err != nil || t.After(this) || t.Year() < 2000 {
		return this
	}
	return t
}

func (v *visit) monthHref(month time.Time) string {
	q := url.Values{"month": {month.Format("2006-01")}}
	for _, name := range []string{"rule", "place"} {
		if is := v.asked(name); is != "" {
			q.Set(name, is)
		}
	}
	return "/alerts/history?" + q.Encode()
}

// placeOfAlert is the place an alert is about, or that of its probe.
func placeOfAlert(snap *monitor.Snapshot, a alerts.State) string {
	switch a.Subject.Kind {
	case alerts.PlaceSubject:
		return a.Subject.ID
	case alerts.ProbeSubject:
		for _, p := range snap.Book.Placements {
			if p.Probe == a.Subject.ID && p.Stay.Covers(a.Raised) {
				return p.Stay.Place
			}
		}
	case alerts.EggSubject:
		if e := snap.Book.Eggs[a.Subject.ID]; e != nil {
			return incubation.At(e.Stays, a.Raised)
		}
	}
	return ""
}

// saysPast sums a month up, or says what it means that there is nothing.
func (v *visit) saysPast(past []alerts.State, month time.Time, narrowed bool) (says, empty string) {
	end := month.AddDate(0, 1, 0)
	if end.After(v.snap.Time) {
		end = v.snap.Time.Add(time.Second)
	}
	t := alerts.Count(past, month, end, v.s.o.Zone)
	switch {
	case t.Raised > 0:
		return saysCounted(t.Counted), ""
	case narrowed:
		return "", "Nothing of that kind was told in this month."
	}
	return "", "No alert was told in this month. That is how it should be, if the watch was on: an alert " +
		"“Nobody was watching” would stand here for every stretch over ten minutes that it was not."
}

// saysCounted tells a count in one line: "4 told, 3 of them at night, 2
// acknowledged, 1 gone before anybody could act."
func saysCounted(c alerts.Counted) string {
	out := fmt.Sprint(c.Raised, " told")
	if c.Night > 0 {
		out += fmt.Sprintf(", %d at night", c.Night)
	}
	out += fmt.Sprintf(", %d acknowledged", c.Acknowledged)
	if c.Fleeting > 0 {
		out += fmt.Sprintf(", %d gone before anybody could act", c.Fleeting)
	}
	if c.Chattering > 0 {
		out += fmt.Sprintf(", %d in quick succession", c.Chattering)
	}
	if c.Standing > 0 {
		out += fmt.Sprintf(", %d for over a day", c.Standing)
	}
	return out + "."
}

func (v *visit) pastAlertLine(a alerts.State) pastAlertLine {
	w := v.say
	l := pastAlertLine{
		State: stateOf(a.Severity), Title: ruleTitle(a.Rule), Subject: a.Subject.Name, Href: subjectHref(a.Subject),
		Facts: v.worst(a), When: w.clock(a.Raised), Sign: "over",
	}
	over := cmp.Or(a.Cleared, a.Ended)
	switch {
	case a.Told():
		l.When += " and still told"
		l.Sign = "active"
	case !over.IsZero():
		l.When += "–" + w.clockAfter(over, a.Raised) + ", " + alerts.Lasting(over.Sub(a.Raised))
	}
	switch {
	case !a.Acknowledged.IsZero():
		l.Seen = "acknowledged " + w.clockAfter(a.Acknowledged, a.Raised) + by(a.AcknowledgedBy)
	case a.Told() || a.Phase == alerts.Cleared:
		l.Seen = "not acknowledged yet"
	default:
		l.Seen = "acknowledged by nobody"
	}
	return l
}

// worst is how bad it got, and against which limit.
func (v *visit) worst(a alerts.State) string {
	worst := v.say.value(a.Value, a.Unit)
	if worst == "" {
		return ""
	}
	limit := v.say.value(a.Limit, a.Unit)
	if limit != "" && a.Unit == "seconds" && *a.Value < *a.Limit {
		return "at the nearest " + worst + " left, told under " + limit // a time that runs out
	}
	if limit != "" {
		return "worst " + worst + ", limit " + limit
	}
	return "worst " + worst
}

func (w words) clock(t time.Time) string { return w.in(t).Format("15:04") }

// clockAfter is a time of day, with the date unless it is that of before.
func (w words) clockAfter(t, before time.Time) string {
	if w.in(t).Format(time.DateOnly) == w.in(before).Format(time.DateOnly) {
		return w.clock(t)
	}
	return w.day(t) + " " + w.clock(t)
}
