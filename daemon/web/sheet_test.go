package web_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/handout"
)

func TestSheetSaysWhatIsWhere(t *testing.T) {
	s := open(t)
	s.snap.Book.Animals["f-pepper"].Stays = []incubation.Stay{{Place: "pepper", From: days(-70)}}
	form := url.Values{"paper": {"Letter"}, "address": {"http://gecko.local:8080"}, "call": {"Ines 0170 1234567\r\n\r\n Dr. Okafor, vet \n"}}
	w := s.ask("POST", "/sheet", form.Encode())
	isPDF(t, w.Result(), w.Body.String(), "clutchd-sheet-2026-06-14.pdf")
	got := s.press.sheets[0]
	if got.Paper != handout.Letter() || got.URL != "http://gecko.local:8080/" || !got.Look.Printed.Equal(noon) {
		t.Errorf("paper %v, address %s, printed %v", got.Paper, got.URL, got.Look.Printed)
	}
	if diff := cmp.Diff([]string{"Ines 0170 1234567", "Dr. Okafor, vet"}, got.Call); diff != "" {
		t.Errorf("whom to call (-want +got):\n%s", diff)
	}
	var where []string
	for _, c := range got.Incubators {
		for _, b := range c.Boxes {
			where = append(where, c.Name+" / "+b.Name+": "+b.Eggs)
			if !b.Hatch.Known() {
				t.Errorf("%s has no hatch window", b.Name)
			}
		}
	}
	want := []string{
		"Oak cabinet / Box 1, top: Saffron A B", "Oak cabinet / Box 2, bottom: Juniper A", "Oak cabinet / Box 1, top: Pepper A",
		"Tin cabinet / Box 3: Juniper B",
	}
	if diff := cmp.Diff(want, where); diff != "" {
		t.Errorf("what is where (-want +got):\n%s", diff)
	}
	others := []handout.Kept{{Name: "Enclosure of Pepper", Holds: "Pepper", Low: ptr(incubation.Celsius(24)), High: ptr(incubation.Celsius(34))}}
	if diff := cmp.Diff(others, got.Others); diff != "" {
		t.Errorf("animals (-want +got):\n%s", diff)
	}
}

// What can be told of in this room is explained, in the rules' own words, and
// what cannot is not: a helper has to find the one that came.
func TestSheetExplainsTheAlertsThatCanCome(t *testing.T) {
	sheet := func(s *site, units string) handout.Sheet {
		w := s.ask("POST", "/sheet", "paper=A4&address=http://gecko.local", "Cookie", "clutchd_units="+units)
		if w.Code != http.StatusOK {
			t.Fatalf("answer %d", w.Code)
		}
		return s.press.sheets[len(s.press.sheets)-1]
	}
	titles := func(s handout.Sheet) (out []string) {
		for _, m := range s.Alerts {
			out = append(out, m.Title)
		}
		return out
	}
	full, bare := open(t), open(t)
	bare.snap.Contacts = nil
	bare.snap.Places = slices.DeleteFunc(bare.snap.Places, func(p monitor.PlaceNow) bool { return p.Kind == incubation.Enclosure })
	all := sheet(full, "C")
	for _, code := range []string{"acute-heat", "runaway-heat", "too-warm", "heater-off", "too-cool", "eggs-unwatched", "stale", "on-battery", "leak"} {
		r, ok := alerts.RuleFor(code)
		i := slices.IndexFunc(all.Alerts, func(m handout.Meaning) bool { return m.Title == r.Title })
		if !ok || i < 0 {
			t.Errorf("%s is not explained", code)
			continue
		}
		if m := all.Alerts[i]; m.First != r.Text.First || m.Severity != string(r.Severity) {
			t.Errorf("%s is explained as %+v", code, m)
		}
	}
	for _, title := range []string{"Power cut", "Water", "Door open", "Above its limit"} {
		if slices.Contains(titles(sheet(bare, "C")), title) {
			t.Errorf("%q is explained in a room that has nothing to raise it", title)
		}
	}
	for _, m := range sheet(full, "F").Alerts {
		if strings.Contains(m.When, "°C") || m.Title == "Too warm" && m.When != "2.7\u00a0°F over the setpoint for 10 min" {
			t.Errorf("%s is told as %q to someone who reads °F", m.Title, m.When)
		}
	}
}

// Whom to call is forgotten unless somebody asks otherwise.
func TestSheetForgetsUnlessTicked(t *testing.T) {
	s := open(t)
	form := url.Values{"paper": {"A4"}, "address": {"http://gecko.local"}, "call": {"Świętosława 030 1"}}
	for _, c := range s.ask("POST", "/sheet", form.Encode()).Result().Cookies() {
		if c.Name == "clutchd_call" && c.MaxAge >= 0 {
			t.Errorf("kept without being asked to: %v", c)
		}
	}
	form.Set("keep", "yes")
	cookies := s.ask("POST", "/sheet", form.Encode()).Result().Cookies()
	if len(cookies) != 1 || cookies[0].MaxAge <= 0 || !cookies[0].HttpOnly {
		t.Fatalf("asked to keep them, it answers with %v", cookies)
	}
	page := s.ask("GET", "/sheet", "", "Cookie", cookies[0].Name+"="+cookies[0].Value).Body.String()
	if !strings.Contains(page, ">Świętosława 030 1</textarea>") || !strings.Contains(page, `name="keep" value="yes" checked`) {
		t.Error("the page does not show what was kept")
	}
	if len(s.door.seen)+len(s.door.made) > 0 {
		t.Error("printing wrote into the book")
	}
}

func TestSheetRefused(t *testing.T) {
	tests := []struct{ says, form, complaint string }{
		{"no paper", "address=http://gecko.local", "Choose a paper."},
		{"no address", "paper=A4", "Write the address as"},
		{"more lines than there is room for", "paper=A4&address=http://gecko.local&call=" + strings.Repeat("a%0A", 11), "At most 10 lines"},
		{"a line longer than the sheet", "paper=A4&address=http://gecko.local&call=" + strings.Repeat("a", 101), "At most 10 lines"},
	}
	for _, tt := range tests {
		s := open(t)
		w := s.ask("POST", "/sheet", tt.form)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), tt.complaint) || len(s.press.sheets) > 0 {
			t.Errorf("%s: answer %d, want 422 with %q", tt.says, w.Code, tt.complaint)
		}
	}
}
