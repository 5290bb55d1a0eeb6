package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"html"
	"net/http"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/web"
)

// A pastLog is a log of past occurrences.
type pastLog []alerts.State

func (l pastLog) Past(_ context.Context, from, to time.Time) ([]alerts.State, error) {
	var out []alerts.State
	for _, s := range l {
		if !s.Raised.Before(from) && s.Raised.Before(to) {
			out = append(out, s)
		}
	}
	return out, nil
}

// happened is the log of the invented room: what is told now, and some that
// is over.
func happened() pastLog {
	over := func(rule, kind, id, name string, at time.Time, lasted time.Duration) alerts.State {
		r, _ := alerts.RuleFor(rule)
		s := alerts.Subject{Kind: alerts.SubjectKind(kind), ID: id, Name: name}
		return alerts.State{
			Alert: alerts.AlertID(rule, s), Occurrence: "o-" + at.Format("0102-1504"), Rule: rule, Subject: s,
			Phase: alerts.Normal, Severity: r.Severity, Since: at.Add(-r.OnDelay), Raised: at,
			Ended: at.Add(lasted), Cleared: at.Add(lasted + r.OffDelay), Unit: r.Unit,
		}
	}
	night := over("too-warm", "place", "oak", "Oak cabinet", days(-12.45), 40*time.Minute) // 1:44 in Berlin
	night.Value, night.Limit = ptr(33.9), ptr(33.0)
	night.Acknowledged, night.AcknowledgedBy = night.Raised.Add(4*time.Minute), "page"
	short := over("stale", "probe", "shelf-hygro", "shelf-hygro", days(-5), 0)
	short.Value = ptr(320.0)
	long := over("dry-air", "place", "box-3", "Tin cabinet / Box 3", days(-40), 26*time.Hour)
	long.Value, long.Limit = ptr(0.62), ptr(0.75)
	return append(pastLog{long, night, short}, told()...)
}

func TestPastAlertsAreTold(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := html.UnescapeString(s.ask("GET", "/alerts/history", "").Body.String())
		for what, text := range map[string]string{
			"the month": "June 2026", "how many": "6 told, 2 at night, 2 acknowledged, 1 gone before anybody could act",
			"from when to when": "01:44–02:29, 45 min", "how bad": "worst 33.9 °C, limit 33.0 °C",
			"who saw it": "acknowledged 01:48 by page", "that one goes on": "still told",
			"that nobody saw one": "acknowledged by nobody", "the month before": "/alerts/history?month=2026-05",
		} {
			if !strings.Contains(page, text) {
				t.Errorf("the page lacks %s: %q", what, text)
			}
		}
		if strings.Contains(page, "Month after") {
			t.Error("the page leads to a month that is still to come")
		}
		narrow := html.UnescapeString(s.ask("GET", "/alerts/history?rule=too-warm&place=oak", "").Body.String())
		if !strings.Contains(narrow, "1 told") || strings.Contains(narrow, "shelf-hygro</p>") {
			t.Errorf("narrowed to too-warm of the oak cabinet it says\n%s", narrow)
		}
	})
}

func TestAMonthWithoutAlertsSaysWhatThatMeans(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for address, want := range map[string]string{
			"/alerts/history?month=2026-03":           "That is how it should be, if the watch was on",
			"/alerts/history?rule=acute-heat":         "Nothing of that kind was told in this month",
			"/alerts/history?month=2031-01&place=oak": "June 2026", // still to come: this one
			"/alerts/history?month=x":                 "June 2026",
		} {
			w := s.ask("GET", address, "")
			if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want) {
				t.Errorf("%s answers %d without %q", address, w.Code, want)
			}
		}
	})
}

type brokenLog struct{}

func (brokenLog) Past(context.Context, time.Time, time.Time) ([]alerts.State, error) {
	return nil, errors.New("the disk says no")
}

// A log that cannot be read must not keep the keeper from the alerts.
func TestAlertsAreShownWithoutTheirLog(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t, func(o *web.Options) { o.Past = brokenLog{} })
		w := s.ask("GET", "/alerts", "")
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Box 2 is 33.4") {
			t.Errorf("answer %d\n%s", w.Code, w.Body)
		}
		if w := s.ask("GET", "/alerts/history", ""); w.Code != http.StatusInternalServerError {
			t.Errorf("the history answers %d: it has nothing to say", w.Code)
		}
	})
}

func TestTallyOverTheAPI(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var got struct {
			Raised, Night, Acknowledged, Fleeting int
			Rules                                 []struct {
				Rule   string
				Raised int
			}
		}
		w := s.ask("GET", "/api/alerts/tally", "")
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if got.Raised != 6 || got.Night != 2 || got.Acknowledged != 2 || got.Fleeting != 1 || len(got.Rules) != 4 {
			t.Errorf("tally %+v", got)
		}
		for address, code := range map[string]int{
			"/api/alerts/tally?from=2026-06-14T00:00:00Z&to=2026-06-13T00:00:00Z": 422,
			"/api/alerts/history?from=2020-01-01T00:00:00Z":                       422,
			"/api/alerts/history?from=yesterday":                                  422,
			"/api/alerts/history?from=2026-01-01T00:00:00Z&rule=dry-air":          200,
		} {
			if w := s.ask("GET", address, ""); w.Code != code {
				t.Errorf("%s answers %d, not %d", address, w.Code, code)
			}
		}
	})
}
