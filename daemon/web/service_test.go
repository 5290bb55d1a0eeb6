package web_test

import (
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// outOfService has a place of the test's room, and what stands in it, be out
// of service.
func outOfService(s *site, id string) {
	for i := range s.snap.Places {
		p := &s.snap.Places[i]
		if p.ID != id && p.In != id {
			continue
		}
		p.Service = &monitor.ServiceNow{
			Of: id, Name: "Oak cabinet", From: noon.Add(-time.Hour), Until: noon.Add(3 * time.Hour), Why: "new fan",
		}
		p.Low, p.High, p.Worst = nil, nil, ""
	}
}

func TestAPlaceOutOfServiceIsNeverCalm(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Alerts = nil
		outOfService(s, "oak")
		room := s.ask("GET", "/", "").Body.String()
		for _, want := range []string{
			`data-state="out" data-state-of="oak"`, `data-state="out" data-state-of="box-1"`,
			"Until 15:32 it is not judged: new fan.", "not judged until 15:32", "are told all the same",
			"No active alert about what is in service.",
		} {
			if !strings.Contains(room, want) {
				t.Errorf("the room lacks %q", want)
			}
		}
		if strings.Contains(room, `class="calm" data-state="normal"`) {
			t.Error("the room calls itself calm")
		}
		golden(t, "room-out", room)
		golden(t, "place-out", s.ask("GET", "/places/oak", "").Body.String())
		var got struct {
			Places []struct {
				ID      string
				Service *struct {
					Of    string
					Until time.Time
					Why   string
				}
			}
		}
		if err := json.Unmarshal(s.ask("GET", "/api/room", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		for _, p := range got.Places {
			if p.ID == "box-1" && (p.Service == nil || p.Service.Of != "oak" || p.Service.Why != "new fan") {
				t.Errorf("the API gives %+v", p.Service)
			}
		}
	})
}

func TestServiceForm(t *testing.T) {
	for _, c := range []struct {
		why, form string
		want      *book.ServiceData
		field     string
	}{
		{
			"out, until a time of the room's clock", "place=oak&until=2026-06-14T15:00&why=new+fan",
			&book.ServiceData{Place: "oak", Until: time.Date(2026, 6, 14, 13, 0, 0, 0, time.UTC), Why: "new fan"}, "",
		},
		{"back again", "place=oak&over=yes", &book.ServiceData{Place: "oak", Back: true}, ""},
		{"without an end", "place=oak&until=", nil, "a date and time is wanted here"},
		{"of nothing", "place=&until=2026-06-14T15:00", nil, "choose one here"},
	} {
		t.Run(c.why, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				if c.want != nil && c.want.Back {
					s.door.state = s.door.state.With(book.Entry{
						At: noon.Add(-time.Hour), Made: noon, Kind: book.KindService,
						Data: json.RawMessage(`{"place":"oak","until":"2026-06-14T15:00:00Z"}`),
					})
				}
				w := s.ask("POST", "/entries", "kind=service&"+c.form)
				if c.want == nil {
					if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), c.field) {
						t.Errorf("answer %d lacks %q", w.Code, c.field)
					}
					return
				}
				if w.Code != http.StatusSeeOther || len(s.door.made) != 1 {
					t.Fatalf("answer %d, %d changes", w.Code, len(s.door.made))
				}
				var got book.ServiceData
				if err := json.Unmarshal(s.door.made[0].Entry.Data, &got); err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(*c.want, got); diff != "" {
					t.Errorf("written (-want +got):\n%s", diff)
				}
			})
		})
	}
}

// The form says what goes on being told while eggs lie in the place.
func TestServiceFormSaysWhatIsStillTold(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		const warns = "too warm, runaway and deadly heat, and that nobody watches them, are told all the same"
		with := s.ask("GET", "/entries/new?kind=service&place=oak", "").Body.String()
		if !strings.Contains(with, warns) {
			t.Error("a place with eggs: the form does not say what is told all the same")
		}
		if without := s.ask("GET", "/entries/new?kind=service&place=pepper", "").Body.String(); strings.Contains(without, warns) {
			t.Error("a place without eggs: the form speaks of eggs")
		}
		back := s.ask("GET", "/entries/new?kind=service&place=oak&over=yes", "").Body.String()
		if !strings.Contains(back, "is back in service") || strings.Contains(back, `name="until"`) {
			t.Error("the form that has it back asks for an end")
		}
		golden(t, "form-service", with)
	})
}
