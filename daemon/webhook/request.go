package webhook

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"

	"clutchd/alerts"
	"clutchd/daemon/secure"
)

// request makes the POST of a notice.
func (h *Hook) request(ctx context.Context, n alerts.Notice, short bool) (*http.Request, error) {
	if short {
		n = inShort(n)
	}
	body, kind, err := h.body(n)
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, h.url.String(), bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.Header.Set("User-Agent", "clutchd")
	h.dress(r.Header, n)
	if err := h.vouch(r.Header, body); err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", kind)
	r.Header.Set("Idempotency-Key", h.key(n, short))
	return r, nil
}

// key tells a double from another notice; it is the same for every try. The
// occurrence is in it since a folder that was lost counts from one again. A
// notice in short is another request, so it has a key of its own.
func (h *Hook) key(n alerts.Notice, short bool) string {
	key := fmt.Sprintf("%s-%d-%s", h.site, n.ID, n.Occurrence)
	if short {
		key += "-short"
	}
	key = strings.Map(func(r rune) rune { // a string of RFC 8941
		if r < ' ' || r > '~' || r == '"' || r == '\\' {
			return '_'
		}
		return r
	}, key)
	return `"` + key + `"`
}

func (h *Hook) body(n alerts.Notice) (body []byte, kind string, err error) {
	if h.target.Format == Text {
		return []byte(Sentence(n) + "\n"), "text/plain; charset=utf-8", nil
	}
	body, err = json.Marshal(n.Payload())
	return body, "application/json", err
}

// dress adds the config's headers.
func (h *Hook) dress(to http.Header, n alerts.Notice) {
	fill := strings.NewReplacer("{site}", oneLine(h.site), "{severity}", string(n.Severity),
		"{reason}", string(n.Reason), "{rule}", n.Rule)
	for name, value := range h.target.Headers {
		to.Set(name, fill.Replace(value))
	}
	if n.Severity != alerts.Critical {
		return
	}
	for name, value := range h.target.Critical {
		to.Set(name, fill.Replace(value))
	}
}

func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}

// vouch adds what is secret, read from its files.
func (h *Hook) vouch(to http.Header, body []byte) error {
	for name, file := range h.target.HeaderFiles {
		value, err := secure.Secret(file)
		if err != nil {
			return fmt.Errorf("read header %s: %w", name, err)
		}
		to.Set(name, value)
	}
	if h.target.TokenFile != "" {
		token, err := secure.Secret(h.target.TokenFile)
		if err != nil {
			return fmt.Errorf("read token_file: %w", err)
		}
		to.Set("Authorization", "Bearer "+token)
	}
	if h.target.SecretFile != "" {
		secret, err := secure.Secret(h.target.SecretFile)
		if err != nil {
			return fmt.Errorf("read secret_file: %w", err)
		}
		to.Set(Signature, "sha256="+sign(secret, body))
	}
	return nil
}

func sign(secret string, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write(body)
	return hex.EncodeToString(mac.Sum(nil))
}

// inShort is what is left of a notice that nobody could take offence at: plain
// letters, and little of them. It says where to read the rest.
func inShort(n alerts.Notice) alerts.Notice {
	n.Text = "An alert of severity " + string(n.Severity) + ": open the alerts page to read it."
	n.Eggs, n.Value, n.Limit = nil, nil, nil
	n.Subject.Name, n.AcknowledgedBy, n.ShelvedBy = n.Subject.ID, "", ""
	return n
}

// Sentence is a notice for a person, where nothing but a text is shown.
func Sentence(n alerts.Notice) string {
	before := ""
	switch n.Reason {
	case alerts.ReasonAcknowledged:
		before = "Acknowledged" + by(n.AcknowledgedBy) + ": "
	case alerts.ReasonShelved:
		before = "Shelved" + by(n.ShelvedBy) + ": "
	case alerts.ReasonUnshelved:
		before = "Off the shelf, still going on: "
	case alerts.ReasonAgain:
		before = "Again: "
	case alerts.ReasonEscalated:
		before = "Worse now: "
	case alerts.ReasonReminded:
		before = "Still going on: "
	case alerts.ReasonWithdrawn:
		before = "No longer watched: "
	}
	return before + n.Text
}

func by(who string) string {
	if who == "" {
		return ""
	}
	return " by " + oneLine(who)
}
