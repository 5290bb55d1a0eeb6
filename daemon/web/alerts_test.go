package web_test

import (
	"fmt"
	"html"
	"net/http"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"

	"github.com/google/go-cmp/cmp"
)

func TestAlertButtonsNameTheOccurrence(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/alerts", "").Body.String()
		_, page, _ = strings.Cut(page, "<main")
		active, rest, _ := strings.Cut(page, "Over, not acknowledged")
		over, shelved, _ := strings.Cut(rest, "Shelved</h2>")
		for where, part := range map[string][3]string{
			"active":  {active, `value="o-81"`, "too-warm.place.box-2/shelve"},
			"over":    {over, `value="o-79"`, "stale.probe.shelf-hygro/acknowledge"},
			"shelved": {shelved, `value="o-77"`, "dry-air.place.box-3/acknowledge"},
		} {
			if !strings.Contains(part[0], part[1]) || !strings.Contains(part[0], part[2]) {
				t.Errorf("%s lacks %s or %s", where, part[1], part[2])
			}
		}
		for _, c := range []struct {
			path, form string
			want       monitor.Change
		}{
			{"/alerts/too-warm.place.box-2/acknowledge", "occurrence=o-81&back=/", monitor.Change{
				Acknowledge: &monitor.Acknowledge{Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "page"},
			}},
			{"/alerts/too-warm.place.box-2/shelve", "occurrence=o-81&hours=8&back=//evil.example", monitor.Change{
				Shelve: &monitor.Shelve{Alert: "too-warm.place.box-2", Occurrence: "o-81", For: 8 * time.Hour, By: "page"},
			}},
		} {
			s.door.made = nil
			w := s.ask("POST", c.path, c.form)
			if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/" {
				t.Errorf("%s answers %d to %q", c.path, w.Code, w.Header().Get("Location"))
			}
			if diff := cmp.Diff([]monitor.Change{c.want}, s.door.made); diff != "" {
				t.Error(diff)
			}
		}
	})
}

func TestLateTapIsToldAndHarmless(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.door.err = &monitor.Refusal{Field: "occurrence", Text: "this alert has been raised anew since"}
		w := s.ask("POST", "/alerts/too-warm.place.box-2/acknowledge", "occurrence=o-12")
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "This alert has been raised anew since.") {
			t.Errorf("answer %d\n%s", w.Code, w.Body)
		}
		s.door.err = nil
		for _, hours := range []string{"", "0", "999", "-1"} {
			w := s.ask("POST", "/alerts/too-warm.place.box-2/shelve", "occurrence=o-81&hours="+hours)
			if w.Code != http.StatusUnprocessableEntity || len(s.door.made) > 0 {
				t.Errorf("shelving for %q hours answers %d", hours, w.Code)
			}
		}
	})
}

// Many of a kind are one card, and one tap sees them all; each is named by its
// occurrence, and one that ended meanwhile holds up none of the others.
func TestAStormIsOneCard(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var form []string
		for i := range 40 {
			id := fmt.Sprintf("p%02d", i)
			s.snap.Alerts = append(s.snap.Alerts, alerts.State{
				Alert: "stale.probe." + id, Occurrence: "s-" + id, Rule: "stale", Phase: alerts.Active,
				Subject: alerts.Subject{Kind: alerts.ProbeSubject, ID: id, Name: id}, Severity: alerts.Warning,
				Since: noon.Add(-time.Hour), Raised: noon.Add(-time.Hour), Text: "Probe " + id + " has been silent.",
			})
			form = append(form, "seen=stale.probe."+id+"+s-"+id)
		}
		page := s.ask("GET", "/alerts", "").Body.String()
		_, page, _ = strings.Cut(page, "<main")
		if n := strings.Count(page, "<article"); n != 5 {
			t.Errorf("%d cards, not the four of before and one for the forty", n)
		}
		for _, text := range []string{"40 of them", "Probe p00 · Probe p01", "34 more", "Acknowledge these 40", "stale.probe.p39/shelve"} {
			if !strings.Contains(page, text) {
				t.Errorf("the page lacks %q", text)
			}
		}
		w := s.ask("POST", "/alerts/acknowledge", strings.Join(form, "&")+"&back=/alerts")
		if w.Code != http.StatusSeeOther || len(s.door.made) != 40 {
			t.Fatalf("answer %d, %d changes", w.Code, len(s.door.made))
		}
		last := monitor.Change{Acknowledge: &monitor.Acknowledge{Alert: "stale.probe.p39", Occurrence: "s-p39", By: "page"}}
		if diff := cmp.Diff(last, s.door.made[39]); diff != "" {
			t.Error(diff)
		}
		s.door.err = &monitor.Refusal{Text: "the alert is over"}
		w = s.ask("POST", "/alerts/acknowledge", form[0])
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "Nothing was acknowledged: the alert is over.") {
			t.Errorf("when all are over it answers %d", w.Code)
		}
		if w := s.ask("POST", "/alerts/acknowledge", ""); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("none at all answers %d", w.Code)
		}
	})
}

// The first thing to do stands by itself, and the text loses nothing by it.
func TestWhatToDoFirstStandsByItself(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		rule, _ := alerts.RuleFor("too-warm")
		s.snap.Alerts[0].Text = "Box 2 is 33.4 °C. Eggs k3 A. " + rule.Text.First + " No reading now."
		page := html.UnescapeString(s.ask("GET", "/alerts", "").Body.String())
		for _, text := range []string{
			">Box 2 is 33.4 °C. Eggs k3 A. No reading now.</p>", "<b>First:</b> " + rule.Text.First + "</p>",
		} {
			if !strings.Contains(page, text) {
				t.Errorf("the page lacks %q", text)
			}
		}
	})
}

// Nothing told, and nothing in a month: that is said, and how to be sure of it.
func TestNoAlertSaysWhatThatMeans(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t, func(o *web.Options) { o.Past = pastLog{} })
		s.snap.Alerts = nil
		page := s.ask("GET", "/alerts", "").Body.String()
		if !strings.Contains(page, "None was told in the last 30 days either") || !strings.Contains(page, `href="/alerts/message"`) {
			t.Errorf("the page says\n%s", page)
		}
	})
}
