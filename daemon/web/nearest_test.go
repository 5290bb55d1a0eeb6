package web_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
)

// Of a time that runs out the smallest is the worst: it is told as one.
func TestATimeThatRunsOutIsToldAsOne(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Alerts = append(s.snap.Alerts, alerts.State{
			Alert: "heating-early.place.oak", Occurrence: "o-99", Rule: "heating-early",
			Subject: alerts.Subject{Kind: alerts.PlaceSubject, ID: "oak", Name: "Oak cabinet"},
			Phase:   alerts.Active, Severity: alerts.Critical, Since: noon.Add(-2 * time.Minute), Raised: noon,
			Value: ptr(738.0), Limit: ptr(1800.0), Unit: "seconds", Text: "Oak cabinet warms fast.",
		})
		page := strings.ReplaceAll(s.ask("GET", "/alerts", "").Body.String(), "\u00a0", " ")
		if !strings.Contains(page, "at the nearest 12 min left, told under 30 min") {
			t.Error("the page does not say how near it came")
		}
	})
}
