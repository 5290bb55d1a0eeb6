package web_test

import (
	"html"
	"strings"
	"testing"

	"clutchd/alerts"
)

func TestEveryRuleIsShownWithItsReason(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := html.UnescapeString(s.ask("GET", "/alerts/rules", "").Body.String())
		all := alerts.Rules()
		if len(all) == 0 {
			t.Fatal("there are no rules")
		}
		for _, r := range all {
			for what, text := range map[string]string{
				"title": r.Title, "reason": r.Why, "mark": string(r.Mark),
				"limit": r.Condition(alerts.InCelsius),
			} {
				if !strings.Contains(page, text) {
					t.Errorf("the page lacks the %s of %s", what, r.Code)
				}
			}
		}
	})
}
