package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// Whatever a contact says, the page never shows what it said once as now.
func TestContactsOnThePages(t *testing.T) {
	for _, row := range []struct {
		name, at    string
		change      func(*monitor.Snapshot)
		shows, none string
	}{
		{"the mains are there, with what the battery says", "/", nil, "present since 2 Jun 12:32 · battery 97 %, full", ""},
		{"a door that is shut", "/", nil, "shut since 11:22", ""},
		{"a contact that fails says nothing of now", "/", nil, "not known: does not answer", "dry"},
		{"and when it was last heard", "/", nil, "last heard 26 min ago", ""},
		{"one in no place waits for one", "/", nil, `href="/entries/new?kind=contact&amp;contact=mains"`, ""},
		{"a place shows its own", "/places/oak", nil, "door of Oak cabinet", "under-tin"},
		{
			"a door told of bears the alert's colour", "/",
			func(s *monitor.Snapshot) {
				s.Contacts[1].On = true
				s.Alerts = append(s.Alerts, alerts.State{
					Alert: "door-open.contact.oak-door", Rule: "door-open", Phase: alerts.Active, Severity: alerts.Warning,
					Subject: alerts.Subject{Kind: alerts.ContactSubject, ID: "oak-door", Name: "door of Oak cabinet"},
				})
			},
			`data-state="warning" data-state-of="contact oak-door"`, "",
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				if row.change != nil {
					row.change(s.snap)
				}
				page := s.ask("GET", row.at, "").Body.String()
				if !strings.Contains(page, row.shows) {
					t.Errorf("the page lacks %q", row.shows)
				}
				if row.none != "" && strings.Contains(page, row.none) {
					t.Errorf("the page says %q", row.none)
				}
			})
		})
	}
}

func TestContactsOfTheAPI(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var got []map[string]any
		if err := json.Unmarshal(s.ask("GET", "/api/contacts", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		states := map[string]any{}
		for _, c := range got {
			states[c["id"].(string)] = c["state"]
		}
		want := map[string]any{"mains": "present", "oak-door": "shut", "under-tin": "unknown"}
		if d := cmp.Diff(want, states); d != "" {
			t.Errorf("states (-want +got):\n%s", d)
		}
		if got[2]["since"] != nil {
			t.Errorf("what is unknown is so since %v", got[2]["since"])
		}
	})
}

func TestAContactIsGivenAPlace(t *testing.T) {
	for _, row := range []struct {
		name, contact, place string
		want                 book.ContactData
	}{
		{
			"the form brings its kind along", "leak:under-tin", "tin",
			book.ContactData{Contact: "under-tin", Kind: incubation.Leak, Place: "tin"},
		},
		{"taken out", "door:oak-door", ".", book.ContactData{Contact: "oak-door"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				form := fill("kind", "contact", "contact", row.contact, "place", row.place)
				if w := s.ask("POST", "/entries", form.Encode()); w.Code != http.StatusSeeOther {
					t.Fatalf("answer %d: %s", w.Code, w.Body)
				}
				var got book.ContactData
				if err := json.Unmarshal(s.door.made[0].Entry.Data, &got); err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(row.want, got); d != "" {
					t.Errorf("written (-want +got):\n%s", d)
				}
			})
		})
	}
}
