package web_test

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"clutchd/daemon/web"
)

func TestAddressOthersCanReachNeedsPassword(t *testing.T) {
	for _, c := range []struct {
		sentence, listen string
		password         bool
		refused          string
	}{
		{"loopback needs none", "127.0.0.1:8080", false, ""},
		{"nor by name", "localhost:8080", false, ""},
		{"nor in IPv6", "[::1]:8080", false, ""},
		{"nor elsewhere in 127/8", "127.9.9.9:80", false, ""},
		{"every address needs one", "0.0.0.0:8080", false, "no password is set"},
		{"also when written short", ":8080", false, "no password is set"},
		{"and in IPv6", "[::]:8080", false, "no password is set"},
		{"a name in the house needs one", "pi.local:8080", false, "no password is set"},
		{"an address in the house needs one", "192.168.1.9:8080", false, "clutchd password"},
		{"with one it is served", "0.0.0.0:8080", true, ""},
		{"an address without a port is told how to write it", "127.0.0.1", true, "write it as"},
	} {
		o := web.Options{Listen: c.listen}
		if c.password {
			o.PasswordHash = secretHash
		}
		s, err := web.New(o)
		if c.refused == "" && (err != nil || s == nil) {
			t.Errorf("%s: %v", c.sentence, err)
		}
		if c.refused != "" && (err == nil || !strings.Contains(err.Error(), c.refused)) {
			t.Errorf("%s: got %v, want it to say %q", c.sentence, err, c.refused)
		}
	}
	if _, err := web.New(web.Options{Listen: "127.0.0.1:0", PasswordHash: "secret"}); err == nil {
		t.Error("a password in plain text was taken for a hash")
	}
}

func TestOnlyOwnNamesAreServed(t *testing.T) {
	on := func(listen string, hosts ...string) func(*web.Options) {
		return func(o *web.Options) { o.Listen, o.Hosts, o.PasswordHash = listen, hosts, secretHash }
	}
	for _, c := range []struct {
		sentence string
		options  func(*web.Options)
		host     string
		served   bool
	}{
		{"its own address", on("127.0.0.1:8080"), "127.0.0.1:8080", true},
		{"localhost, at any port", on("127.0.0.1:8080"), "localhost:9999", true},
		{"IPv6 loopback", on("127.0.0.1:8080"), "[::1]:8080", true},
		{"a name that was made to point here", on("127.0.0.1:8080"), "evil.example:8080", false},
		{"a name that begins like ours", on("127.0.0.1:8080"), "localhost.evil.example", false},
		{"a name that ends like ours", on("127.0.0.1:8080"), "notlocalhost", false},
		{"no name at all", on("127.0.0.1:8080"), "", false},
		{"an address it does not listen on", on("127.0.0.1:8080"), "10.0.0.7:8080", false},
		{"any literal address, when it listens on all", on("0.0.0.0:8080"), "10.0.0.7:8080", true},
		{"but no name that nobody set up", on("0.0.0.0:8080"), "pi.local:8080", false},
		{"a name from the config, in any case, with a final dot", on("0.0.0.0:8080", "Pi.local"), "pi.LOCAL.:8080", true},
		{"its listen name", on("gecko.lan:8080"), "gecko.lan", true},
	} {
		s := open(t, c.options)
		w := s.ask("GET", "/healthz", "", "Host", c.host)
		if got := w.Code != http.StatusMisdirectedRequest; got != c.served {
			t.Errorf("%s (%q): served %v, answer %d", c.sentence, c.host, got, w.Code)
		}
	}
}

func TestOtherSitesChangeNothing(t *testing.T) {
	for _, c := range []struct {
		sentence string
		header   []string
		refused  bool
	}{
		{"our own form, over HTTPS or on this machine", []string{"Sec-Fetch-Site", "same-origin"}, false},
		{"our own form, over plain HTTP: only the origin is sent", []string{"Origin", "http://127.0.0.1:8080"}, false},
		{"a program sends neither", nil, false},
		{"another site's form", []string{"Sec-Fetch-Site", "cross-site"}, true},
		{"another site's form, over plain HTTP", []string{"Origin", "http://evil.example"}, true},
		{"a page that hides its origin", []string{"Origin", "null"}, true},
		{"another port of this machine", []string{"Origin", "http://127.0.0.1:9000"}, true},
	} {
		s := open(t)
		w := s.ask("POST", "/alerts/too-warm.place.box-2/acknowledge", "occurrence=o-81&back=/alerts", c.header...)
		if got := w.Code == http.StatusForbidden; got != c.refused {
			t.Errorf("%s: answer %d", c.sentence, w.Code)
		}
		if changed := len(s.door.made) > 0; changed == c.refused {
			t.Errorf("%s: changed %v", c.sentence, changed)
		}
	}
}

func TestEveryAnswerCarriesThePolicy(t *testing.T) {
	s := open(t)
	stamp := regexp.MustCompile(`style\.css\?v=([0-9a-f]+)`).FindStringSubmatch(s.ask("GET", "/", "").Body.String())[1]
	for _, c := range []struct{ sentence, method, path, cache string }{
		{"a page", "GET", "/", "no-store"},
		{"the wall", "GET", "/wall", "no-store"},
		{"JSON", "GET", "/api/room", "no-store"},
		{"metrics", "GET", "/metrics", "no-store"},
		{"health", "GET", "/healthz", "no-store"},
		{"a static file of this build", "GET", "/static/style.css?v=" + stamp, "public, max-age=31536000, immutable"},
		{"one of another build", "GET", "/static/style.css?v=0", "no-store"},
		{"what is not there", "GET", "/none", "no-store"},
		{"a refusal", "POST", "/api/entries", "no-store"},
		{"a wrong name", "GET", "http://evil.example/", "no-store"},
	} {
		h := s.ask(c.method, c.path, "").Header()
		csp := h.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'self'", "frame-ancestors 'none'", "form-action 'self'", "base-uri 'none'", "object-src 'none'"} {
			if !strings.Contains(csp, part) {
				t.Errorf("%s: policy %q lacks %s", c.sentence, csp, part)
			}
		}
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "same-origin",
			"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
			"Strict-Transport-Security": "", "Cache-Control": c.cache,
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s is %q, want %q", c.sentence, name, got, want)
			}
		}
		if p := h.Get("Permissions-Policy"); strings.Contains(csp, "unsafe") || !strings.Contains(p, "camera=()") || !strings.Contains(p, "geolocation=()") {
			t.Errorf("%s: headers %v", c.sentence, h)
		}
	}
}

func TestLongRequestsAreCutOff(t *testing.T) {
	s := open(t)
	long := strings.Repeat("x", 70<<10)
	for path, body := range map[string]string{
		"/entries": "kind=note&text=" + long, "/api/entries": `{"kind":"note","data":{"text":"` + long + `"}}`,
	} {
		if w := s.ask("POST", path, body); w.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s answers %d to 70 KB", path, w.Code)
		}
	}
	if len(s.door.made) > 0 {
		t.Error("something was changed by it")
	}
}
