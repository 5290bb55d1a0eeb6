package webhook_test

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/webhook"
)

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

func notice(id uint64) alerts.Notice {
	value, limit := 30.1, 29.5
	subject := alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-3", Name: "Box ü"}
	return alerts.Notice{ID: id, Reason: alerts.ReasonRaised, Time: noon, State: alerts.State{
		Alert: alerts.AlertID("too-warm", subject), Occurrence: "o17", Rule: "too-warm",
		Subject: subject, Phase: alerts.Active, Severity: alerts.Critical, Since: noon.Add(-time.Minute),
		Value: &value, Limit: &limit, Unit: "celsius", Eggs: []string{"7a"}, Text: "Box ü is 30.1 °C.",
	}}
}

// A post is what a far side got.
type post struct {
	head http.Header
	body string
}

// A service is a far side that notes what it gets and answers as it is told.
type service struct {
	*httptest.Server
	mu     sync.Mutex
	got    []post
	answer http.HandlerFunc // nil: 204
}

func newService(t *testing.T) *service {
	t.Helper()
	s := &service{}
	s.Server = httptest.NewServer(http.HandlerFunc(s.serve))
	t.Cleanup(s.Close)
	return s
}

func (s *service) serve(w http.ResponseWriter, r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	r.Body = io.NopCloser(strings.NewReader(string(body)))
	s.mu.Lock()
	s.got = append(s.got, post{r.Header.Clone(), string(body)})
	answer := s.answer
	s.mu.Unlock()
	if answer == nil {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	answer(w, r)
}

func (s *service) posts() []post {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.got
}

func status(code int, more ...string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		for i := 0; i+1 < len(more); i += 2 {
			w.Header().Set(more[i], more[i+1])
		}
		http.Error(w, "because\nof this", code)
	}
}

func hook(t *testing.T, target webhook.Target) *webhook.Hook {
	t.Helper()
	target.Name = "phone"
	h, err := webhook.New(target, "cellar", nil)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func file(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "secret")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestPublish(t *testing.T) {
	s := newService(t)
	h := hook(t, webhook.Target{
		URL: s.URL, TokenFile: file(t, "open-sesame\n"), SecretFile: file(t, "key\n"),
		Headers:     map[string]string{"Title": "{site}: {severity}", "Priority": "3"},
		Critical:    map[string]string{"Priority": "5"},
		HeaderFiles: map[string]string{"X-Account": file(t, "me\n")},
	})
	if h.Destination() != "webhook:phone" {
		t.Errorf("destination %q: cursors are kept by it and it must not change", h.Destination())
	}
	mild := notice(8)
	mild.Severity = alerts.Warning
	for _, n := range []alerts.Notice{notice(7), notice(7), mild} {
		if err := h.Publish(t.Context(), n); err != nil {
			t.Fatal(err)
		}
	}
	got := s.posts()
	const body = `{"id":7,"reason":"raised","time":"2026-05-04T12:00:00Z","alert":"too-warm.place.box-3",` +
		`"occurrence":"o17","rule":"too-warm","subject":{"kind":"place","id":"box-3","name":"Box ü"},"eggs":["7a"],` +
		`"state":"active","severity":"critical","value":30.1,"limit":29.5,"unit":"celsius",` +
		`"since":"2026-05-04T11:59:00Z","text":"Box ü is 30.1 °C."}`
	if got[0].body != body || got[1].body != body {
		t.Errorf("posted\n%s\n%s, want twice\n%s", got[0].body, got[1].body, body)
	}
	for name, want := range map[string][3]string{
		"Content-Type":    {"application/json", "application/json", "application/json"},
		"Idempotency-Key": {`"cellar-7-o17"`, `"cellar-7-o17"`, `"cellar-8-o17"`},
		"Authorization":   {"Bearer open-sesame", "Bearer open-sesame", "Bearer open-sesame"},
		"Title":           {"cellar: critical", "cellar: critical", "cellar: warning"},
		"Priority":        {"5", "5", "3"},
		"X-Account":       {"me", "me", "me"},
	} {
		for i := range want {
			if got[i].head.Get(name) != want[i] {
				t.Errorf("post %d: %s is %q, want %q", i, name, got[i].head.Get(name), want[i])
			}
		}
	}
	// HMAC-SHA256 of the body under "key", computed with openssl dgst.
	if sig := got[0].head.Get(webhook.Signature); sig != "sha256="+bodySignature {
		t.Errorf("signed %s, want %s", sig, bodySignature)
	}
}

const bodySignature = "49229f5e2ca044ddd84c852c7a0ee6f56bb62031ef6a466d2c410d9a9964266b"

func TestText(t *testing.T) {
	s := newService(t)
	h := hook(t, webhook.Target{URL: s.URL, Format: webhook.Text})
	for reason, want := range map[alerts.Reason]string{
		alerts.ReasonRaised:       "Box ü is 30.1 °C.\n",
		alerts.ReasonAcknowledged: "Acknowledged by Ana: Box ü is 30.1 °C.\n",
		alerts.ReasonReminded:     "Still going on: Box ü is 30.1 °C.\n",
		alerts.ReasonEscalated:    "Worse now: Box ü is 30.1 °C.\n",
	} {
		n := notice(7)
		n.Reason, n.AcknowledgedBy = reason, "Ana"
		if err := h.Publish(t.Context(), n); err != nil {
			t.Fatal(err)
		}
		got := s.posts()
		if last := got[len(got)-1]; last.body != want || last.head.Get("Content-Type") != "text/plain; charset=utf-8" {
			t.Errorf("%s: posted %q as %s, want %q", reason, last.body, last.head.Get("Content-Type"), want)
		}
	}
}

func TestAnswers(t *testing.T) {
	elsewhere := newService(t)
	tests := []struct {
		sentence string
		answer   http.HandlerFunc
		refused  bool
		says     string // "": delivered
	}{
		{"any 2xx is a yes", status(http.StatusAccepted), false, ""},
		{"a missing page is a refusal", status(404), true, "answered 404 Not Found: because"},
		{"a wrong token is a refusal", status(401), true, "answered 401 Unauthorized: because"},
		{"too many at once is none", status(429), false, "answered 429 Too Many Requests: because"},
		{"a slow request is none", status(408), false, "answered 408 Request Timeout: because"},
		{"too early is none", status(425), false, "answered 425 Too Early: because"},
		{"one that is still being worked on is none", status(409), false, "answered 409 Conflict: because"},
		{"a broken service is none", status(503), false, "answered 503 Service Unavailable: because"},
		{
			"a redirect elsewhere is not followed", status(307, "Location", elsewhere.URL), true,
			"answered 307 Temporary Redirect, a redirect that is not followed: name that address in the config: " +
				elsewhere.URL,
		},
		{
			"a redirect that would make a GET of it is not followed",
			status(302, "Location", "/there"), true,
			"answered 302 Found, a redirect that is not followed: name that address in the config: /there",
		},
		{"a redirect on the same host is", func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Path != "/there" {
				status(308, "Location", "/there")(w, r)
			}
		}, false, ""},
		{"a connection that breaks", func(http.ResponseWriter, *http.Request) {
			panic(http.ErrAbortHandler)
		}, false, "the far side closed the connection without a word"},
		{"an endless answer is not read on", func(w http.ResponseWriter, r *http.Request) {
			for r.Context().Err() == nil {
				if _, err := w.Write(make([]byte, 1<<20)); err != nil {
					return
				}
			}
		}, false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			s := newService(t)
			s.answer = tt.answer
			err := hook(t, webhook.Target{URL: s.URL, TokenFile: file(t, "x")}).Publish(t.Context(), notice(7))
			if tt.says == "" && err != nil || tt.says != "" && (err == nil || err.Error() != "post notice 7: "+tt.says) {
				t.Errorf("got %v, want %q", err, tt.says)
			}
			if errors.Is(err, webhook.ErrRefused) != tt.refused {
				t.Errorf("%v: refused should be %v", err, tt.refused)
			}
		})
	}
	if n := len(elsewhere.posts()); n > 0 {
		t.Errorf("%d posts were carried to another host", n)
	}
}

// A proxy that the environment names is not used: what goes out is the
// config's alone to say.
func TestNoProxy(t *testing.T) {
	proxy := newService(t)
	t.Setenv("HTTP_PROXY", proxy.URL)
	if err := hook(t, webhook.Target{URL: "http://phone.invalid"}).Publish(t.Context(), notice(7)); err == nil {
		t.Error("a host that does not exist has taken a notice")
	}
	if len(proxy.posts()) > 0 {
		t.Error("the post went to the environment's proxy")
	}
}

// bubble makes a hook inside a synctest bubble, which no network reaches: its
// posts are carried to answer.
func bubble(t *testing.T, target webhook.Target, log *slog.Logger, answer func(r *http.Request, body string) (int, http.Header)) *webhook.Hook {
	t.Helper()
	target.Name, target.URL = "phone", "http://phone.example/"
	h, err := webhook.New(target, "cellar", log)
	if err != nil {
		t.Fatal(err)
	}
	webhook.Carry(h, carrier(func(r *http.Request) (*http.Response, error) {
		body, _ := io.ReadAll(r.Body)
		code, head := answer(r, string(body))
		return &http.Response{
			StatusCode: code, Status: http.StatusText(code), Header: head, Body: http.NoBody, Request: r,
		}, nil
	}))
	return h
}

type carrier func(*http.Request) (*http.Response, error)

func (c carrier) RoundTrip(r *http.Request) (*http.Response, error) { return c(r) }

// never is a cursor that nobody keeps.
type never struct{}

func (never) Delivered(context.Context, string, uint64, []string) error { return nil }

// A notice that is refused for what it holds goes out in short after a while,
// so that a newer one is not held up for ever; a far side that refuses
// everything gets everything, whole, once it stops doing so.
func TestRefusals(t *testing.T) {
	tests := []struct {
		sentence string
		refuses  func(since time.Duration, body string) bool
		short    bool // notice 1 arrives in short
		after    time.Duration
	}{
		{"it dislikes what one notice holds", func(_ time.Duration, body string) bool {
			return strings.Contains(body, `"id":1`) && strings.Contains(body, "ü")
		}, true, 12 * time.Minute},
		{"its token was wrong for a night", func(since time.Duration, _ string) bool {
			return since < 8*time.Hour
		}, false, 8*time.Hour + 2*time.Minute},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				began, taken := time.Now(), []string{}
				h := bubble(t, webhook.Target{}, nil, func(_ *http.Request, body string) (int, http.Header) {
					if tt.refuses(time.Since(began), body) {
						return 400, nil
					}
					taken = append(taken, body)
					return 200, nil
				})
				outbox := alerts.NewOutbox(nil, nil, never{}, slog.New(slog.DiscardHandler))
				ctx, cancel := context.WithCancel(t.Context())
				done := make(chan error, 1)
				go func() { done <- outbox.Run(ctx, h) }()
				outbox.Post(notice(1), notice(2))
				time.Sleep(tt.after)
				cancel()
				if err := <-done; err != nil {
					t.Error(err)
				}
				if len(taken) != 2 || !strings.Contains(taken[0], `"id":1`) || !strings.Contains(taken[1], `"id":2`) {
					t.Fatalf("taken: %v, want notices 1 and 2", taken)
				}
				whole := strings.Contains(taken[0], "Box ü is 30.1 °C.")
				if whole == tt.short || !strings.Contains(taken[0], `"severity":"critical"`) {
					t.Errorf("in short: %v, want %v: %s", !whole, tt.short, taken[0])
				}
				if !strings.Contains(taken[1], "Box ü is 30.1 °C.") {
					t.Errorf("notice 2 is not whole: %s", taken[1])
				}
			})
		})
	}
}

// A far side that asks for quiet gets it, within bounds.
func TestRetryAfter(t *testing.T) {
	for asked, want := range map[string]time.Duration{
		"30": 30 * time.Second, "86400": 5 * time.Minute, "-1": 0, "soon": 0, "": 0,
		"99999999999999999999": 0,
	} {
		synctest.Test(t, func(t *testing.T) {
			date := asked
			tries := 0
			h := bubble(t, webhook.Target{}, nil, func(*http.Request, string) (int, http.Header) {
				tries++
				return 429, http.Header{"Retry-After": {date}}
			})
			began := time.Now()
			for tries < 2 {
				if err := h.Publish(t.Context(), notice(1)); err == nil {
					t.Fatal("a refusal was taken for a yes")
				}
				if tries < 2 {
					time.Sleep(time.Second)
				}
			}
			if waited := time.Since(began); waited < want || waited > want+time.Second {
				t.Errorf("asked to wait %q it knocked again after %s, want %s", asked, waited, want)
			}
		})
	}
}

func TestTrial(t *testing.T) {
	s := newService(t)
	addr := strings.TrimPrefix(s.URL, "http://")
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	nobody := l.Addr().String()
	l.Close()
	secured := httptest.NewTLSServer(http.HandlerFunc(status(200)))
	defer secured.Close()
	secured.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelDebug)
	tls := strings.TrimPrefix(secured.URL, "https://")
	tests := []struct {
		sentence string
		target   webhook.Target
		answer   http.HandlerFunc
		want     []string
	}{
		{
			"all is well",
			webhook.Target{URL: s.URL},
			nil,
			[]string{"write the message", "connect to " + addr, "answered by " + addr + " that it has it"},
		},
		{
			"the answer is no",
			webhook.Target{URL: s.URL},
			status(403),
			[]string{
				"write the message", "connect to " + addr,
				"answered by " + addr + " that it has it: 403 Forbidden: because",
			},
		},
		{
			"nobody is there",
			webhook.Target{URL: "http://" + nobody},
			nil,
			[]string{"write the message", "connect to " + nobody + ": nobody listens at that address and port"},
		},
		{
			"the name is not known",
			webhook.Target{URL: "http://nowhere.invalid/"},
			nil,
			[]string{"write the message", "look up nowhere.invalid: "},
		},
		{
			"the certificate is signed by a stranger",
			webhook.Target{URL: secured.URL},
			nil,
			[]string{
				"write the message", "connect to " + tls,
				"agree on TLS with 127.0.0.1: its certificate is signed by nobody this machine knows: " +
					"name the signer's certificate as ca_file",
			},
		},
		{
			"the token's file is not there",
			webhook.Target{URL: s.URL, TokenFile: "/nowhere"},
			nil,
			[]string{"write the message: read token_file: open /nowhere: no such file or directory"},
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			s.answer = tt.answer
			hops := hook(t, tt.target).Trial(t.Context(), notice(1))
			var got []string
			for _, h := range hops {
				line := h.Name
				if h.Err != nil {
					line += ": " + h.Err.Error()
				}
				got = append(got, line)
			}
			for i := range max(len(got), len(tt.want)) {
				if i >= len(got) || i >= len(tt.want) || !strings.HasPrefix(got[i], tt.want[i]) {
					t.Fatalf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(tt.want, "\n"))
				}
			}
		})
	}
}

func TestNewRefuses(t *testing.T) {
	for sentence, target := range map[string]webhook.Target{
		"no name":                    {URL: "http://phone.example"},
		"another scheme":             {Name: "a", URL: "ftp://phone.example"},
		"no host":                    {Name: "a", URL: "http:///x"},
		"a password in the address":  {Name: "a", URL: "http://me:pw@phone.example"},
		"an unknown form":            {Name: "a", URL: "http://phone.example", Format: "xml"},
		"a header that is ours":      {Name: "a", URL: "http://phone.example", Headers: map[string]string{"content-type": "x"}},
		"a header with a line break": {Name: "a", URL: "http://phone.example", Critical: map[string]string{"A": "x\r\nB: y"}},
		"a header name with a space": {Name: "a", URL: "http://phone.example", HeaderFiles: map[string]string{"A b": "f"}},
	} {
		if _, err := webhook.New(target, "cellar", nil); err == nil {
			t.Errorf("%s: taken", sentence)
		}
	}
}
