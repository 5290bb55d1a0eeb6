package webhook

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/secure"
)

var _ alerts.Tester = (*Hook)(nil)

// trialTimeout is how long a trial may take in all.
const trialTimeout = 30 * time.Second

// Trial posts a notice at once, whatever the far side said before, and reports
// each hop up to the first that failed.
func (h *Hook) Trial(ctx context.Context, n alerts.Notice) []alerts.Hop {
	ctx, cancel := context.WithTimeout(ctx, trialTimeout)
	defer cancel()
	var hops []alerts.Hop
	hop := func(name string, err error) {
		if err != nil {
			err = errors.New(secure.Why(err))
		}
		hops = append(hops, alerts.Hop{Name: name, Err: err})
	}
	if _, err := h.request(ctx, n, false); err != nil {
		hop("write the message", err)
		return hops
	}
	hop("write the message", nil)
	err := h.post(ctx, &http.Client{Transport: h.transport(hop), CheckRedirect: near}, n, false)
	if hops[len(hops)-1].Err == nil {
		hop("answered by "+h.url.Host+" that it has it", unanswered(err))
	}
	return hops
}

// unanswered leaves out what the hop's own name says.
func unanswered(err error) error {
	if err == nil {
		return nil
	}
	return errors.New(strings.TrimPrefix(err.Error(), "answered "))
}
