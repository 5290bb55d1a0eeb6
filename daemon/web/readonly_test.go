package web_test

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"clutchd/daemon/monitor"

	"github.com/google/go-cmp/cmp"
)

var (
	postForm = regexp.MustCompile(`<form method="post" action="([^"]+)"`)
	formLink = regexp.MustCompile(`href="(/entries/new|/settings/)[^"]*"`)
)

// guest gives a browser that was opened with a link.
func guest(t *testing.T, s *site, what string, more ...string) *visitor {
	t.Helper()
	link := keeper(t, s, "").let(t, "helper", what, more...)
	v := &visitor{s: s}
	if w := v.ask("GET", path(link), ""); w.Code != http.StatusSeeOther {
		t.Fatalf("the link answers %d", w.Code)
	}
	return v
}

// Every route, whoever wrote its page: a guest looks, and changes nothing.
func TestGuestsLookAndChangeNothing(t *testing.T) {
	for _, c := range []struct {
		sentence string
		more     []string
		may      bool
	}{
		{"a link to look", nil, false},
		{"a link to look and acknowledge", []string{"acknowledge", "yes"}, true},
	} {
		s := open(t, locked)
		v := guest(t, s, "room", c.more...)
		before := len(s.door.made)
		for _, r := range s.server.Routes() {
			method, pattern, _ := strings.Cut(r, " ")
			at := strings.NewReplacer("{$}", "", "{id}", "k3", "{name}", "style.css", "{code}", "too-warm").Replace(pattern)
			if strings.HasPrefix(pattern, "/logout") || pattern == "/login" || pattern == "/events" || strings.HasPrefix(pattern, "/watch") {
				continue
			}
			w := v.ask(method, at, "")
			acknowledges := c.may && strings.HasSuffix(pattern, "/acknowledge") && !strings.HasPrefix(pattern, "/api/")
			switch {
			case method == "POST" && !slices.Contains(ofTheBrowser, pattern) && !acknowledges && w.Code != http.StatusForbidden:
				t.Errorf("%s: %s is answered %d", c.sentence, r, w.Code)
			case acknowledges && w.Code == http.StatusForbidden:
				t.Errorf("%s: %s is refused", c.sentence, r)
			case w.Code == http.StatusForbidden && !strings.Contains(w.Body.String(), "read-only"):
				t.Errorf("%s: %s is refused without a reason: %.300s", c.sentence, r, w.Body)
			}
		}
		for _, change := range s.door.made[before:] {
			if !c.may || change.Acknowledge == nil {
				t.Errorf("%s: through the door came %+v", c.sentence, change)
			}
		}
	}
}

// ofTheBrowser are the forms that change how this browser shows the room, and
// nothing of the room.
var ofTheBrowser = []string{"/units", "/settings", "/start"}

func TestGuestsSeeNoFormThatChanges(t *testing.T) {
	s := open(t, locked)
	k, look, help := keeper(t, s, ""), guest(t, s, "room"), guest(t, s, "wall", "acknowledge", "yes")
	forms := 0
	for name, at := range pages {
		forms += len(postForm.FindAllString(k.ask("GET", at, "").Body.String(), -1))
		for _, c := range []struct {
			guest *visitor
			may   bool
		}{{look, false}, {help, true}} {
			w := c.guest.ask("GET", at, "")
			text := w.Body.String()
			if !strings.Contains(text, `<p class="readonly">Read-only</p>`) {
				t.Errorf("%s does not say that it is read-only", name)
			}
			for _, m := range postForm.FindAllStringSubmatch(text, -1) {
				acknowledges := strings.HasPrefix(m[1], "/alerts/") && strings.HasSuffix(m[1], "acknowledge")
				if !slices.Contains(ofTheBrowser, m[1]) && m[1] != "/logout" && !(c.may && acknowledges) {
					t.Errorf("%s (may acknowledge: %v) shows the form of %s", name, c.may, m[1])
				}
			}
			if m := formLink.FindString(text); m != "" {
				t.Errorf("%s leads to %s", name, m)
			}
			for _, left := range []string{"<li></li>", `<ul class="choices"></ul>`, "Write down</h2></section>"} {
				if strings.Contains(text, left) {
					t.Errorf("%s is left with %s", name, left)
				}
			}
		}
	}
	if forms < 2*len(pages) {
		t.Fatalf("the keeper sees %d forms: nothing was tested", forms)
	}
	if text := help.ask("GET", "/alerts", "").Body.String(); !strings.Contains(text, `/acknowledge"`) || strings.Contains(text, "Shelve …") {
		t.Error("a helper who may acknowledge cannot, or may shelve")
	}
	if text := look.ask("GET", "/alerts", "").Body.String(); strings.Contains(text, "Acknowledge</button>") {
		t.Error("a guest who may not is asked to acknowledge")
	}
}

func TestHelperIsNamedBesideWhatWasSeen(t *testing.T) {
	s := open(t, locked)
	v := guest(t, s, "wall", "acknowledge", "yes")
	w := v.ask("POST", "/alerts/too-warm.place.box-2/acknowledge", "occurrence=o-81&back=/wall")
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/wall" {
		t.Errorf("answer %d to %s", w.Code, w.Header().Get("Location"))
	}
	want := []monitor.Change{{Acknowledge: &monitor.Acknowledge{
		Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "helper",
	}}}
	if d := cmp.Diff(want, s.door.made); d != "" {
		t.Errorf("through the door came (-want +got):\n%s", d)
	}
}

func TestLinks(t *testing.T) {
	s := open(t, locked)
	k := keeper(t, s, "")
	link := path(k.let(t, "hall", "wall"))
	was := k.cookie
	if w := k.ask("GET", link, ""); w.Header().Get("Location") != "/wall" || k.cookie != was {
		t.Errorf("the keeper's own browser was made a guest's: to %s", w.Header().Get("Location"))
	}
	v := &visitor{s: s}
	if w := v.ask("GET", link+"x", ""); w.Code != http.StatusForbidden || v.cookie != "" {
		t.Errorf("a link copied wrongly answers %d with %q", w.Code, v.cookie)
	}
	if w := v.ask("GET", link, ""); w.Header().Get("Location") != "/wall" || v.cookie == "" {
		t.Fatalf("the link answers %d", w.Code)
	}
	secret := strings.TrimPrefix(link, "/watch/")
	if w := s.ask("GET", "/api/room", "", "From-Address", from, "Authorization", "Bearer "+secret); w.Code != 401 {
		t.Errorf("a link's secret is taken for a token: %d", w.Code)
	}
	if w := (&visitor{s: s}).ask("GET", "/watch/"+k.let(t, "program", "read"), ""); w.Code != http.StatusForbidden {
		t.Errorf("a token is taken for a link: %d", w.Code)
	}
	for range 30 { // a screen that forgets its cookie
		(&visitor{s: s}).ask("GET", link, "")
	}
	if k.ask("GET", "/settings/tokens", "").Code != 200 {
		t.Error("the wall's sessions put out the keeper's")
	}
	v = &visitor{s: s}
	v.ask("GET", link, "")
	for _, m := range revokeAction.FindAllStringSubmatch(k.ask("GET", "/settings/tokens", "").Body.String(), -1) {
		k.ask("POST", m[1], "")
	}
	if w := v.ask("GET", "/api/room", ""); w.Code != 401 {
		t.Errorf("a guest stays when the link is revoked: %d", w.Code)
	}
}
