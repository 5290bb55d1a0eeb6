package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"

	"github.com/google/go-cmp/cmp"
)

func TestAlertButtonsNameTheOccurrence(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/alerts", "").Body.String()
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
