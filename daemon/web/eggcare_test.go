package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"clutchd/incubation/book"
)

// From a clutch's page each thing to write of an egg is one tap away, and the
// form that opens knows the egg and says what keepers hold to.
func TestOneTapFromAnEgg(t *testing.T) {
	s := open(t)
	page := s.ask("GET", "/clutches/k3", "").Body.String()
	for _, kind := range []book.Kind{
		book.KindCandle, book.KindLooked, book.KindWeighed, book.KindEgg, book.KindPip, book.KindHatch, book.KindFail,
	} {
		link := "/entries/new?kind=" + string(kind) + "&amp;egg=k3-a&amp;back=/clutches/k3"
		if !strings.Contains(page, `href="`+link+`"`) {
			t.Errorf("no link to %s", link)
			continue
		}
		form := s.ask("GET", strings.ReplaceAll(link, "&amp;", "&"), "").Body.String()
		knows := strings.Contains(form, `value="k3-a" selected`) || strings.Contains(form, `name="egg" value="k3-a"`) ||
			strings.Contains(form, `name="about" value="egg:k3-a"`)
		if !knows {
			t.Errorf("the form %s asks which egg", kind)
		}
	}
	if link := `href="/entries/new?kind=milestone&amp;egg=k1-a&amp;back=/clutches/k1"`; !strings.Contains(s.ask("GET", "/clutches/k1", "").Body.String(), link) {
		t.Errorf("no link to a hatchling's firsts")
	}
	if !strings.Contains(s.ask("GET", "/places/box-2", "").Body.String(), "kind=looked&amp;box=box-2") {
		t.Error("no link from a box to a look at it")
	}
}

// A cause is tapped, and what the keeper knows besides stands behind it.
func TestLostEggHasACause(t *testing.T) {
	for _, row := range []struct{ why, cause, more, want string }{
		{"from the list, and words of the keeper's own", "too warm", "thermostat stuck", `{"egg":"k3-a","cause":"too warm; thermostat stuck"}`},
		{"from the list alone", "stopped early: a ring", "", `{"egg":"k3-a","cause":"stopped early: a ring"}`},
		{"the keeper's words alone", "", "a mouse", `{"egg":"k3-a","cause":"a mouse"}`},
		{"nobody knows", "", "", `{"egg":"k3-a"}`},
	} {
		s := open(t)
		form := url.Values{"kind": {"fail"}, "egg": {"k3-a"}, "cause": {row.cause}, "more": {row.more}, "request": {"page-0123456789abcdef"}, "return": {"/"}, "unit": {"°C"}}
		w := s.ask("POST", "/entries", form.Encode())
		if w.Code != http.StatusSeeOther || len(s.door.made) != 1 || string(s.door.made[0].Entry.Data) != row.want {
			t.Errorf("%s: answer %d, %+v", row.why, w.Code, s.door.made)
		}
	}
}
