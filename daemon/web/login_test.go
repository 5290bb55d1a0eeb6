package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/web"
)

// secretHash is of "correct egg box", at the lowest costs that are taken.
const (
	secretWord = "correct egg box"
	secretHash = "$argon2id$v=19$m=8192,t=1,p=1$c29tZXNhbHQ$47KVclCcVhRdMkFusoDPwMj8eYSq/4I0zwH4pCF2sTo"
)

func locked(o *web.Options) {
	o.Listen, o.PasswordHash = "0.0.0.0:8080", secretHash
}

func TestWithoutLoginNothingIsTold(t *testing.T) {
	s := open(t, locked)
	for _, r := range s.server.Routes() {
		method, path, _ := strings.Cut(r, " ")
		path = strings.NewReplacer("{$}", "", "{id}", "k3", "{name}", "style.css", "{secret}", "clutchd_guessed").Replace(path)
		w := s.ask(method, path, "", "From-Address", "192.168.1.30:4000")
		told := w.Code == http.StatusOK
		free := path == "/login" || path == "/about" || strings.HasPrefix(path, "/static/") || path == "/api/openapi.json"
		if told && !free {
			t.Errorf("%s is told without a login", r)
		}
		if strings.Contains(w.Body.String(), "Oak") || strings.Contains(w.Body.String(), "Back room") {
			t.Errorf("%s tells of the room without a login", r)
		}
	}
	if len(s.door.made) > 0 {
		t.Error("something was changed without a login")
	}
}

func TestHealthAndMetricsAreOpenToThisMachineOnly(t *testing.T) {
	s := open(t, locked)
	for _, path := range []string{"/healthz", "/metrics"} {
		for _, c := range []struct {
			sentence string
			header   []string
			told     bool
		}{
			{"this machine", nil, true},
			{"another one", []string{"From-Address", "192.168.1.30:4000"}, false},
			{"another one, through a proxy on this machine", []string{"X-Forwarded-For", "192.168.1.30"}, false},
			{"another one with the password", []string{"From-Address", "192.168.1.30:4000", "Authorization", basic(secretWord)}, true},
			{"another one with a wrong one", []string{"From-Address", "192.168.1.30:4000", "Authorization", basic("x")}, false},
		} {
			if w := s.ask("GET", path, "", c.header...); (w.Code != http.StatusUnauthorized) != c.told {
				t.Errorf("%s, %s: answer %d", path, c.sentence, w.Code)
			}
		}
	}
}

func basic(password string) string {
	r, _ := http.NewRequest("GET", "/", nil)
	r.SetBasicAuth("keeper", password)
	return r.Header.Get("Authorization")
}

func login(s *site, password, next string, header ...string) (code int, cookie *http.Cookie, to string) {
	form := url.Values{"password": {password}, "next": {next}}
	w := s.ask("POST", "/login", form.Encode(), header...)
	for _, c := range w.Result().Cookies() {
		if strings.HasSuffix(c.Name, "clutchd_session") {
			cookie = c
		}
	}
	return w.Code, cookie, w.Header().Get("Location")
}

func TestLoginOpensASession(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, locked)
		if code, cookie, _ := login(s, "wrong", "/"); code != http.StatusForbidden || cookie != nil {
			t.Errorf("a wrong password answers %d with %v", code, cookie)
		}
		code, cookie, to := login(s, secretWord, "/clutches/k3")
		if code != http.StatusSeeOther || to != "/clutches/k3" || cookie == nil {
			t.Fatalf("login answers %d to %q with %v", code, to, cookie)
		}
		if !cookie.HttpOnly || cookie.SameSite != http.SameSiteLaxMode || cookie.Secure || len(cookie.Value) < 20 {
			t.Errorf("cookie %v", cookie)
		}
		header := []string{"Cookie", cookie.Name + "=" + cookie.Value}
		seen := func() bool { return s.ask("GET", "/api/room", "", header...).Code == http.StatusOK }
		if !seen() {
			t.Error("the session opens nothing")
		}
		for range 3 {
			time.Sleep(20 * 24 * time.Hour)
			if !seen() {
				t.Error("a session in use has ended")
			}
		}
		time.Sleep(31 * 24 * time.Hour)
		if seen() {
			t.Error("a session unused for 31 days still opens")
		}
		_, cookie, _ = login(s, secretWord, "/")
		header[1] = cookie.Name + "=" + cookie.Value
		s.ask("POST", "/logout", "", header...)
		if seen() {
			t.Error("a session opens after the logout")
		}
	})
}

func TestLoginLeadsOnlyWithin(t *testing.T) {
	s := open(t, locked)
	for next, want := range map[string]string{
		"/places/box-2?span=7d": "/places/box-2?span=7d", "": "/", "//evil.example/": "/", `/\evil.example`: "/",
		"https://evil.example/": "/", "javascript:alert(1)": "/", "/\tevil": "/", "clutches": "/",
	} {
		if _, _, to := login(s, secretWord, next); to != want {
			t.Errorf("after login %q leads to %q, want %q", next, to, want)
		}
	}
}

func TestWrongPasswordsMustWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t, locked)
		attacker := []string{"From-Address", "10.0.0.66:1234"}
		for i := range 5 {
			if code, _, _ := login(s, "guess", "/", attacker...); code != http.StatusForbidden {
				t.Fatalf("try %d answers %d", i+1, code)
			}
		}
		if code, _, _ := login(s, secretWord, "/", attacker...); code != http.StatusTooManyRequests {
			t.Errorf("the sixth try in a row answers %d, even with the right password", code)
		}
		if code, _, _ := login(s, secretWord, "/", "From-Address", "10.0.0.7:1"); code != http.StatusSeeOther {
			t.Errorf("the keeper is locked out by another's guesses: %d", code)
		}
		time.Sleep(2 * time.Second)
		if code, _, _ := login(s, "guess", "/", attacker...); code != http.StatusForbidden {
			t.Errorf("after the wait a try answers %d", code)
		}
		time.Sleep(2 * time.Second)
		if code, _, _ := login(s, "guess", "/", attacker...); code != http.StatusTooManyRequests {
			t.Errorf("the wait has not doubled: %d", code)
		}
		tries := 0
		for start := time.Now(); time.Since(start) < 24*time.Hour; time.Sleep(10 * time.Second) {
			if code, _, _ := login(s, "guess", "/", attacker...); code == http.StatusForbidden {
				tries++
			}
		}
		if tries > 400 {
			t.Errorf("%d guesses in a day", tries)
		}
		w := s.ask("GET", "/api/room", "", append(attacker, "Authorization", basic(secretWord))...)
		if w.Code != http.StatusUnauthorized {
			t.Error("the wait is passed by with HTTP Basic")
		}
	})
}
