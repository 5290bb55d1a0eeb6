package web_test

import (
	"net/http"
	"strings"
	"testing"
)

func TestLoginEndsTheSessionBefore(t *testing.T) {
	s := open(t, locked)
	k := keeper(t, s, "")
	before := visitor{s: s, cookie: k.cookie}
	k.ask("POST", "/login", "password="+strings.ReplaceAll(secretWord, " ", "+"))
	if k.cookie == before.cookie {
		t.Error("the token from before the login is used on")
	}
	if w := before.ask("GET", "/api/room", ""); w.Code != http.StatusUnauthorized {
		t.Errorf("a token from before the login is answered %d", w.Code)
	}
	planted := &visitor{s: s, cookie: "clutchd_session=planted"}
	planted.ask("POST", "/login", "password="+strings.ReplaceAll(secretWord, " ", "+"))
	if w := (&visitor{s: s, cookie: "clutchd_session=planted"}).ask("GET", "/api/room", ""); w.Code != http.StatusUnauthorized {
		t.Errorf("a token that somebody planted became a session: %d", w.Code)
	}
}

func TestLogoutEverywhere(t *testing.T) {
	d := &drawer{}
	s := open(t, keeping(d))
	k, phone := keeper(t, s, ""), keeper(t, s, "")
	wall := guest(t, s, "wall")
	if w := k.ask("POST", "/logout/everywhere", "", "Sec-Fetch-Site", "cross-site"); w.Code != http.StatusForbidden {
		t.Errorf("another site logs everyone out: %d", w.Code)
	}
	if w := k.ask("POST", "/logout/everywhere", ""); w.Header().Get("Location") != "/login" {
		t.Errorf("answer %d", w.Code)
	}
	again := open(t, keeping(d))
	for name, v := range map[string]*visitor{"this one": k, "the lost phone": phone, "the wall": wall} {
		for _, s := range []*site{s, again} {
			v.s = s
			if w := v.ask("GET", "/api/room", ""); w.Code != http.StatusUnauthorized {
				t.Errorf("%s is answered %d", name, w.Code)
			}
		}
	}
}

func TestCookiesOverTLS(t *testing.T) {
	s := open(t, locked)
	for _, c := range []struct {
		sentence string
		header   []string
		name     string
		secure   bool
	}{
		{"plain HTTP", nil, "clutchd_session", false},
		{"a proxy that speaks TLS", []string{"X-Forwarded-Proto", "https"}, "__Host-clutchd_session", true},
	} {
		_, cookie, _ := login(s, secretWord, "/", c.header...)
		if cookie == nil || cookie.Name != c.name || cookie.Secure != c.secure || !cookie.HttpOnly ||
			cookie.SameSite != http.SameSiteLaxMode || cookie.Path != "/" || cookie.Domain != "" {
			t.Errorf("%s: %v", c.sentence, cookie)
		}
	}
}

func TestNames(t *testing.T) {
	for typed, want := range map[string]string{
		"":                        "page",
		"Ines":                    "Ines",
		"  Ines\r\nSet-Cookie: a": "Ines Set-Cookie: a",
		"\x00\x1b[31m\u202e":      "[31m",
		"Zoë 🦎":                   "Zoë 🦎",
		strings.Repeat("ö", 60):   strings.Repeat("ö", 40),
	} {
		s := open(t, locked)
		k := keeper(t, s, typed)
		k.ask("POST", "/entries", "kind=note&text=x&request=r1&return=/")
		k.ask("POST", "/alerts/too-warm.place.box-2/acknowledge", "occurrence=o-81&back=/alerts")
		if len(s.door.made) != 2 || s.door.made[0].Entry.By != want || s.door.made[1].Acknowledge.By != want {
			t.Errorf("%q: %+v", typed, s.door.made)
		}
		k.ask("POST", "/settings/name", "name=Jo")
		k.ask("POST", "/entries", "kind=note&text=y&request=r2&return=/")
		if got := s.door.made[2].Entry.By; got != "Jo" {
			t.Errorf("%q: another name was chosen, and written is %q", typed, got)
		}
	}
}

// Without a password there is no login to say a name at.
func TestNameWithoutPassword(t *testing.T) {
	s := open(t)
	w := s.ask("POST", "/settings/name", "name=Ines+%26+Jo")
	c := w.Result().Cookies()[0]
	s.ask("POST", "/entries", "kind=note&text=x&request=r1&return=/", "Cookie", c.Name+"="+c.Value)
	if len(s.door.made) != 1 || s.door.made[0].Entry.By != "Ines & Jo" {
		t.Errorf("written is %+v", s.door.made)
	}
}

func TestNothingTypedEndsUpInHeaders(t *testing.T) {
	s := open(t, locked)
	for _, next := range []string{"/%0d%0aSet-Cookie:%20x=1", "/a%250d%250ab", "/.//evil.example", "/..//evil.example/", "/%2f%2fevil.example"} {
		w := s.ask("POST", "/login", "password="+strings.ReplaceAll(secretWord, " ", "+")+"&next="+next)
		to := w.Header().Get("Location")
		if strings.ContainsAny(to, "\r\n") || strings.HasPrefix(to, "//") || len(w.Result().Cookies()) != 1 {
			t.Errorf("%s leads to %q with %v", next, to, w.Result().Cookies())
		}
	}
}
