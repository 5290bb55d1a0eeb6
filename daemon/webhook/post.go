package webhook

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/secure"
)

const (
	// patience is how long one notice is refused before it goes out in short:
	// the least that can be said, without a name, a sentence or an egg of its
	// own. A far side that takes it refused what the notice held; one that does
	// not refuses everything, and is waited for.
	patience = 10 * time.Minute
	// longestWait is what a wait that a far side asks for is cut to: an alert must not lie for an
	// hour because a service is busy (judgement).
	longestWait = 5 * time.Minute
	// answerBytes is how much of an answer is read.
	answerBytes = 4 << 10
)

// ErrRefused says that the far side understood and does not want it.
var ErrRefused = errors.New("refused")

// Publish posts a notice and returns nil only when it was answered with a
// status from 200 to 299.
func (h *Hook) Publish(ctx context.Context, n alerts.Notice) error {
	if wait := h.wait(); wait > 0 {
		return fmt.Errorf("post notice %d: asked to wait for %s", n.ID, wait.Round(time.Second))
	}
	err := h.post(ctx, h.client, n, false)
	if h.note(n.ID, err) >= patience {
		if h.post(ctx, h.client, n, true) == nil {
			h.log.Error("notice taken only in short: what it held was refused", "notice", n.ID,
				"alert", n.Alert, "reason", n.Reason, "err", err)
			return nil
		}
	}
	if err != nil {
		return fmt.Errorf("post notice %d: %w", n.ID, err)
	}
	return nil
}

// wait is how long the far side still wants to hear nothing.
func (h *Hook) wait() time.Duration {
	h.mu.Lock()
	defer h.mu.Unlock()
	return time.Until(h.until)
}

// note keeps what became of a try, and gives for how long this notice has been
// refused now: zero if it was not.
func (h *Hook) note(id uint64, err error) time.Duration {
	h.mu.Lock()
	defer h.mu.Unlock()
	if e, ok := errors.AsType[answered](err); ok {
		h.until = time.Now().Add(e.after)
	}
	if !errors.Is(err, ErrRefused) {
		return 0
	}
	if h.refused != id {
		h.refused, h.since = id, time.Now()
	}
	return time.Since(h.since)
}

// post sends one notice over a client.
func (h *Hook) post(ctx context.Context, c *http.Client, n alerts.Notice, short bool) error {
	r, err := h.request(ctx, n, short)
	if err != nil {
		return err
	}
	w, err := c.Do(r)
	if err != nil {
		return errors.New(secure.Why(err))
	}
	defer w.Body.Close()
	said, _ := io.ReadAll(io.LimitReader(w.Body, answerBytes))
	return verdict(w, string(said))
}

// An answered is an answer that is no yes.
type answered struct {
	text    string
	refused bool
	after   time.Duration // as asked for, within bounds
}

func (a answered) Error() string { return a.text }

func (a answered) Is(target error) bool { return target == ErrRefused && a.refused }

// verdict turns an answer into nil, or why it is none. What may pass by
// itself, such as a far side that is busy, counts as no refusal.
func verdict(w *http.Response, said string) error {
	code := w.StatusCode
	if code/100 == 2 {
		return nil
	}
	a := answered{text: "answered " + w.Status, after: retryAfter(w.Header.Get("Retry-After"))}
	switch code {
	case http.StatusRequestTimeout, http.StatusConflict, http.StatusTooEarly,
		http.StatusTooManyRequests:
	default:
		a.refused = code < 500
	}
	if code/100 == 3 {
		a.text += ", a redirect that is not followed: name that address in the config: " + w.Header.Get("Location")
	} else if line := firstLine(said); line != "" {
		a.text += ": " + line
	}
	return a
}

// firstLine gives what a person may read of an answer.
func firstLine(said string) string {
	line, _, _ := strings.Cut(strings.TrimSpace(said), "\n")
	line = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\uFFFD' {
			return -1
		}
		return r
	}, line)
	if runes := []rune(line); len(runes) > 160 {
		line = string(runes[:160]) + "…"
	}
	return line
}

// retryAfter reads the header's seconds or date, zero without one.
func retryAfter(text string) time.Duration {
	wait := time.Duration(0)
	if s, err := strconv.ParseUint(text, 10, 32); err == nil {
		wait = time.Duration(s) * time.Second
	} else if at, err := http.ParseTime(text); err == nil {
		wait = time.Until(at)
	}
	return min(max(0, wait), longestWait)
}
