package web_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/web"
)

// A drawer keeps what it is given, until it jams.
type drawer struct {
	mu    sync.Mutex
	text  []byte
	saved int
	jam   error
}

func (d *drawer) Load() ([]byte, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.text, nil
}

func (d *drawer) Save(text []byte) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.jam != nil {
		return d.jam
	}
	d.text, d.saved = text, d.saved+1
	return nil
}

func (d *drawer) holds(text string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return strings.Contains(string(d.text), text)
}

func keeping(d *drawer) func(*web.Options) {
	return func(o *web.Options) {
		locked(o)
		o.Keep = d
	}
}

// from is another device of the house.
const from = "192.168.1.30:4000"

// A visitor is a browser somewhere in the house.
type visitor struct {
	s      *site
	cookie string
}

func (v *visitor) ask(method, path, body string, header ...string) *httptest.ResponseRecorder {
	header = append(header, "From-Address", from)
	if v.cookie != "" {
		header = append(header, "Cookie", v.cookie)
	}
	w := v.s.ask(method, path, body, header...)
	for _, c := range w.Result().Cookies() {
		if strings.HasSuffix(c.Name, "clutchd_session") {
			v.cookie = c.Name + "=" + c.Value
		}
	}
	return w
}

// keeper gives a browser that has shown the password.
func keeper(t *testing.T, s *site, name string) *visitor {
	t.Helper()
	v := &visitor{s: s}
	form := url.Values{"password": {secretWord}, "name": {name}}
	if w := v.ask("POST", "/login", form.Encode()); w.Code != http.StatusSeeOther {
		t.Fatalf("the login answers %d", w.Code)
	}
	return v
}

var (
	requestField = regexp.MustCompile(`name="request" value="([^"]+)"`)
	shownSecret  = regexp.MustCompile(`<code id="secret">([^<]+)</code>`)
	revokeAction = regexp.MustCompile(`action="(/settings/tokens/[^/]+/revoke)"`)
)

// let makes a token or link on the page and gives what the page shows once.
func (v *visitor) let(t *testing.T, name, what string, more ...string) string {
	t.Helper()
	page := v.ask("GET", "/settings/tokens", "").Body.String()
	form := url.Values{"name": {name}, "what": {what}, "request": {requestField.FindStringSubmatch(page)[1]}}
	for i := 0; i+1 < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	w := v.ask("POST", "/settings/tokens", form.Encode())
	found := shownSecret.FindStringSubmatch(w.Body.String())
	if w.Code != http.StatusOK || found == nil {
		t.Fatalf("making %s answers %d without a secret:\n%s", what, w.Code, w.Body)
	}
	again := v.ask("POST", "/settings/tokens", form.Encode()).Body.String()
	if got := shownSecret.FindStringSubmatch(again); got == nil || got[1] != found[1] {
		t.Error("a double tap made another one")
	}
	return found[1]
}

func TestTokens(t *testing.T) {
	d := &drawer{}
	s := open(t, keeping(d))
	k := keeper(t, s, "")
	read, write := k.let(t, "dash board", "read"), k.let(t, "scale", "write")
	note := `{"request":"r1","kind":"note","data":{"text":"weighed"}}`
	for _, c := range []struct {
		sentence, method, path, token string
		code                          int
	}{
		{"a reading token reads JSON", "GET", "/api/room", read, 200},
		{"and metrics", "GET", "/metrics", read, 200},
		{"and pages", "GET", "/clutches", read, 200},
		{"it writes nothing", "POST", "/api/entries", read, 403},
		{"not even what would change nothing", "POST", "/api/eggs/k3-a/consider", read, 403},
		{"it acknowledges nothing", "POST", "/api/alerts/too-warm.place.box-2/acknowledge", read, 403},
		{"it makes no tokens", "GET", "/settings/tokens", read, 403},
		{"nor is it told of the forms", "GET", "/entries/new?kind=note", read, 403},
		{"a writing token reads", "GET", "/api/entries", write, 200},
		{"and writes", "POST", "/api/entries", write, 201},
		{"but it makes no tokens: a stolen one must not breed", "POST", "/settings/tokens", write, 403},
		{"and ends no sessions", "POST", "/logout/everywhere", write, 403},
		{"a token that nobody made opens nothing", "GET", "/api/room", "clutchd_AAAA", 401},
		{"an empty one neither", "GET", "/api/room", "", 401},
		{"a token is no password", "GET", "/metrics", secretWord, 401},
	} {
		w := s.ask(c.method, c.path, note, "From-Address", from, "Authorization", "Bearer "+c.token)
		if w.Code != c.code {
			t.Errorf("%s: answer %d, want %d: %.200s", c.sentence, w.Code, c.code, w.Body)
		}
		if w.Code == 401 && !strings.Contains(w.Header().Get("WWW-Authenticate"), "Bearer") {
			t.Errorf("%s: not told that it is about the token: %v", c.sentence, w.Header())
		}
	}
	if w := s.ask("GET", "/healthz", "", "Authorization", "Bearer wrong"); w.Code != 401 {
		t.Errorf("a wrong token on this machine answers %d: somebody would believe it works", w.Code)
	}
	if len(s.door.made) != 1 || s.door.made[0].Entry.By != "scale" {
		t.Errorf("through the door came %+v, wanted one entry by the token's name", s.door.made)
	}
	if d.holds(read) || d.holds(write) || strings.Contains(k.ask("GET", "/settings/tokens", "").Body.String(), read) {
		t.Error("a token is kept or shown in the clear")
	}

	page := k.ask("GET", "/settings/tokens", "").Body.String()
	if !strings.Contains(page, "last used") || strings.Contains(page, "never used") {
		t.Error("the page does not say when the tokens were used")
	}
	for _, m := range revokeAction.FindAllStringSubmatch(page, -1) {
		if w := k.ask("POST", m[1], ""); w.Code != http.StatusSeeOther {
			t.Errorf("revoking answers %d", w.Code)
		}
	}
	for _, token := range []string{read, write} {
		if w := s.ask("GET", "/api/room", "", "From-Address", from, "Authorization", "Bearer "+token); w.Code != 401 {
			t.Errorf("a revoked token is answered %d", w.Code)
		}
	}
}

func TestTokenIsNotMadeIfItCannotBeKept(t *testing.T) {
	d := &drawer{}
	s := open(t, keeping(d))
	k := keeper(t, s, "")
	s.server.Settle()
	d.mu.Lock()
	d.jam = errors.New("no space left on device")
	d.mu.Unlock()
	w := k.ask("POST", "/settings/tokens", "name=x&what=read&request=r1")
	if w.Code != http.StatusServiceUnavailable || shownSecret.MatchString(w.Body.String()) ||
		!strings.Contains(w.Body.String(), "not made") {
		t.Errorf("answer %d:\n%s", w.Code, w.Body)
	}
	if page := k.ask("GET", "/settings/tokens", "").Body.String(); revokeAction.MatchString(page) {
		t.Error("it is listed all the same")
	}
	for _, c := range []struct{ sentence, body string }{
		{"without a name nobody knows later whom to shut out", "name=+&what=read&request=r2"},
		{"what is to be opened must be said", "name=x&what=everything&request=r3"},
		{"without a request it would be made twice", "name=x&what=read"},
	} {
		if w := k.ask("POST", "/settings/tokens", c.body); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s: answer %d", c.sentence, w.Code)
		}
	}
}

func TestRestartsAreSurvived(t *testing.T) {
	d := &drawer{}
	s := open(t, keeping(d))
	k := keeper(t, s, "Ines")
	token, link := k.let(t, "dash board", "read"), k.let(t, "hall", "wall")
	wall := &visitor{s: s}
	wall.ask("GET", path(link), "")
	s.server.Settle()
	if d.holds(strings.SplitN(k.cookie, "=", 2)[1]) {
		t.Error("a session's token is kept in the clear")
	}
	sees := func(s *site, v visitor) int {
		v.s = s
		return v.ask("GET", "/api/room", "").Code
	}
	s = open(t, keeping(d))
	if sees(s, *k) != 200 || sees(s, *wall) != 200 {
		t.Error("a restart locked out a phone or the wall")
	}
	k.s = s
	k.ask("POST", "/entries", "kind=note&text=x&request=r9&return=/")
	if len(s.door.made) != 1 || s.door.made[0].Entry.By != "Ines" {
		t.Errorf("after a restart the name is gone: %+v", s.door.made)
	}
	bears := func(s *site) int {
		return s.ask("GET", "/api/room", "", "From-Address", from, "Authorization", "Bearer "+token).Code
	}
	if got := bears(s); got != 200 {
		t.Errorf("after a restart the token is answered %d", got)
	}

	other, err := web.HashPassword("another egg box")
	if err != nil {
		t.Fatal(err)
	}
	s = open(t, keeping(d), func(o *web.Options) { o.PasswordHash = other })
	if sees(s, *k) == 200 || sees(s, *wall) == 200 {
		t.Error("a session outlives the password that opened it")
	}
	if got := bears(s); got != 200 {
		t.Errorf("a token has its own life, and is answered %d", got)
	}
}

func TestWhatCannotBeReadIsNotWrittenOver(t *testing.T) {
	for sentence, text := range map[string]string{
		"a damaged file": `{"version":1,"keys":[{"id`, "a file of a later version": `{"version":9,"keys":[]}`,
	} {
		d := &drawer{text: []byte(text)}
		s := open(t, keeping(d))
		k := keeper(t, s, "")
		if w := k.ask("GET", "/", ""); w.Code != 200 {
			t.Errorf("%s: the password opens nothing: %d", sentence, w.Code)
		}
		if w := k.ask("POST", "/settings/tokens", "name=x&what=read&request=r1"); w.Code != 503 {
			t.Errorf("%s: a token is made: %d", sentence, w.Code)
		}
		s.server.Settle()
		if string(d.text) != text {
			t.Errorf("%s: it was written over with %s", sentence, d.text)
		}
	}
}

func TestSessionsAreNotKeptOnEveryRequest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := &drawer{}
		s := open(t, keeping(d))
		k := keeper(t, s, "")
		token := k.let(t, "dash board", "read")
		s.server.Settle()
		before := d.saved
		for range 24 * 60 / 5 { // a day of a phone and a program that ask every five minutes
			time.Sleep(5 * time.Minute)
			k.ask("GET", "/api/room", "")
			s.ask("GET", "/metrics", "", "From-Address", from, "Authorization", "Bearer "+token)
		}
		s.server.Settle()
		if n := d.saved - before; n == 0 || n > 26 {
			t.Errorf("a day wrote the file %d times", n)
		}
	})
}

func path(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		panic(err)
	}
	return u.Path
}
