// Package webhook delivers notices by HTTP POST: to a program, or to whatever
// shows a text on a phone.
//
// It decides nothing and keeps no queue: the outbox hands it one notice at a
// time until it was taken. Bodies are the JSON that MQTT has too
// (daemon/mqtt/schema/notice.json), or plain text. Sources: RFC 9110 (status
// codes, Retry-After), RFC 2104 (HMAC); the header Idempotency-Key is an IETF
// draft (draft-ietf-httpapi-idempotency-key-header, from memory).
//
// Delivered is what was answered with a status from 200 to 299. Everything
// else is tried again, for ever: as long as a far side refuses, newer notices
// would be refused as well, so that dropping one would gain nothing. One
// notice that is refused for its own sake must not hold up the rest: see
// patience. Meanwhile the rule "undelivered" tells of it by the other ways.
package webhook

import (
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/textproto"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/secure"
)

// The forms of a body.
const (
	JSON = "json" // as over MQTT
	Text = "text" // the sentence for a person alone
)

// A Target says where to post and as whom. Files are read at each post, so
// that a renewed secret needs no restart.
type Target struct {
	Name   string // for logs and the outbox; stable, as cursors are kept by it
	URL    string // http:// or https://
	Format string // JSON or Text; "": JSON
	// Headers are sent with every post, Critical over them with a critical
	// notice. {site}, {severity}, {reason} and {rule} stand for the notice's.
	Headers  map[string]string
	Critical map[string]string
	// HeaderFiles are headers whose value is a file's first line.
	HeaderFiles map[string]string
	TokenFile   string // sent as Authorization: Bearer
	SecretFile  string // signs the body, see Signature
	Files       secure.Files
}

// Signature is the header that holds "sha256=" and the body's HMAC-SHA256 in
// hex, keyed with the first line of the secret's file.
const Signature = "Clutchd-Signature"

// ours are the headers that a config may not set.
var ours = [...]string{
	"Content-Type", "Content-Length", "Host", "Idempotency-Key", "Transfer-Encoding", "Connection", Signature,
}

// Validate gives every reason why the target could never be posted to.
func (t Target) Validate() error {
	var errs []error
	if t.Name == "" {
		errs = append(errs, errors.New("name: empty"))
	}
	if _, err := t.address(); err != nil {
		errs = append(errs, err)
	}
	if t.Format != "" && t.Format != JSON && t.Format != Text {
		errs = append(errs, fmt.Errorf("format %q: json or text", t.Format))
	}
	if (t.Files.Cert == "") != (t.Files.Key == "") {
		errs = append(errs, errors.New("a client certificate needs both its file and its key's"))
	}
	for _, set := range []map[string]string{t.Headers, t.Critical, t.HeaderFiles} {
		for _, name := range slices.Sorted(maps.Keys(set)) {
			if err := checkHeader(name, set[name]); err != nil {
				errs = append(errs, err)
			}
		}
	}
	return errors.Join(errs...)
}

func checkHeader(name, value string) error {
	switch {
	case name == "" || strings.ContainsFunc(name, func(r rune) bool {
		return r <= ' ' || r > '~' || strings.ContainsRune(`"(),/:;<=>?@[\]{}`, r)
	}):
		return fmt.Errorf("header %q: no such name is allowed", name)
	case slices.Contains(ours[:], textproto.CanonicalMIMEHeaderKey(name)):
		return fmt.Errorf("header %q: that one is not for a config to set", name)
	case strings.ContainsAny(value, "\r\n\x00"):
		return fmt.Errorf("header %q: its value must be one line", name)
	}
	return nil
}

func (t Target) address() (*url.URL, error) {
	u, err := url.Parse(t.URL)
	if err != nil {
		return nil, fmt.Errorf("address: %w", errors.Unwrap(err))
	}
	switch {
	case u.Scheme != "http" && u.Scheme != "https", u.Hostname() == "":
		return nil, errors.New("address: need http://host/… or https://host/…")
	case u.User != nil:
		return nil, errors.New("address: user and password belong in a file, see token_file")
	}
	return u, nil
}

// secret reports whether something is sent that nobody else may read.
func (t Target) secret() bool { return t.TokenFile != "" || len(t.HeaderFiles) > 0 }

// A Hook posts to one target.
type Hook struct {
	target Target
	site   string
	url    *url.URL
	log    *slog.Logger
	client *http.Client

	mu      sync.Mutex // of what follows: one notice's tries, and a wait asked for
	refused uint64     // the notice that was refused last
	since   time.Time  // when it was first
	until   time.Time  // the far side wants to hear nothing before
}

var _ alerts.Publisher = (*Hook)(nil)

// New makes a hook of a site's notices.
func New(t Target, site string, log *slog.Logger) (*Hook, error) {
	if err := t.Validate(); err != nil {
		return nil, fmt.Errorf("webhook %s: %w", t.Name, err)
	}
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	h := &Hook{target: t, site: site, log: log.With("webhook", t.Name)}
	h.url, _ = t.address()
	h.client = &http.Client{Transport: h.transport(nil), CheckRedirect: near}
	if ip := net.ParseIP(h.url.Hostname()); t.secret() && h.url.Scheme == "http" &&
		h.url.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback()) {
		h.log.Warn("the webhook's secret crosses the network unencrypted: use https://")
	}
	return h, nil
}

// Destination names the target for the outbox's cursor.
func (h *Hook) Destination() string { return "webhook:" + h.target.Name }
