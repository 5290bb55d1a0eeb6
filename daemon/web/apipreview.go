package web

import (
	"net/http"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// A previewJSON is what a rule would have told in the last days: first with
// the limits that are in force, then with those that were asked about.
type previewJSON struct {
	Rule    string      `json:"rule"`
	Subject string      `json:"subject"`
	From    time.Time   `json:"from"`
	To      time.Time   `json:"to"`
	Whole   bool        `json:"whole"`
	Known   float64     `json:"known_seconds"`
	Unit    string      `json:"unit"`
	Trials  []trialJSON `json:"trials"`
	Caveats []string    `json:"caveats"`
}

type trialJSON struct {
	Limit    *float64     `json:"limit,omitempty"`
	OnDelay  float64      `json:"on_delay_seconds"`
	Count    int          `json:"count"`
	PerMonth float64      `json:"per_month"`
	Night    int          `json:"night"`
	Fired    []firingJSON `json:"fired"`
}

type firingJSON struct {
	Raised   time.Time       `json:"raised"`
	Over     time.Time       `json:"over,omitzero"`
	Severity alerts.Severity `json:"severity"`
	Worst    *float64        `json:"worst,omitempty"`
	Limit    *float64        `json:"limit,omitempty"`
}

func (s *Server) apiPreview(snap *monitor.Snapshot, r *http.Request) (any, error) {
	q := r.URL.Query()
	rule, ok := alerts.RuleFor(q.Get("rule"))
	if !ok {
		return nil, wrong("rule", "there is no rule of this code")
	}
	v := &visit{s: s, r: r, snap: snap, say: words{zone: s.o.Zone, now: snap.Time}}
	place, _ := v.tuned(rule, q.Get("subject"))
	if place == "" {
		return nil, wrong("subject", "subject is no place, or for a rule about probes no probe in one")
	}
	if s.o.Rehearse == nil {
		return nil, notFound("a past to try rules on")
	}
	own := snap.Book.Limits[place]
	own.Place = place
	trials := []book.LimitsData{own}
	t, err := tuningOf(r)
	if err != nil {
		return nil, err
	}
	if t.limit != nil || t.delay != nil {
		trial := t.in(rule, own)
		if bad := v.checked(trial); bad != nil {
			return nil, wrong("limit", bad.Text)
		}
		trials = append(trials, trial)
	}
	days, err := count(r, "days", 1, monitor.PreviewDays)
	if err != nil {
		return nil, err
	}
	p, err := s.o.Rehearse.Preview(r.Context(), monitor.PreviewQuestion{
		Rule: rule.Code, Subject: q.Get("subject"), Limits: trials, Days: int(days),
	})
	if err != nil {
		return nil, err
	}
	return previewOf(p, trials), nil
}

// tuningOf reads limit and on_delay_seconds, in the rule's own unit.
func tuningOf(r *http.Request) (tuning, error) {
	var t tuning
	limit, err := decimal(r, "limit")
	if err != nil {
		return t, err
	}
	seconds, err := decimal(r, "on_delay_seconds")
	if err != nil {
		return t, err
	}
	t.limit = limit
	if seconds != nil {
		d := time.Duration(*seconds * float64(time.Second))
		t.delay = &d
	}
	return t, nil
}

func previewOf(p monitor.Preview, trials []book.LimitsData) previewJSON {
	out := previewJSON{
		Rule: p.Rule.Code, Subject: p.Subject, From: p.From.UTC(), To: p.To.UTC(), Whole: p.Whole,
		Known: p.Known.Seconds(), Unit: p.Rule.Unit, Trials: []trialJSON{}, Caveats: some(p.Caveats),
	}
	for i, fired := range p.Fired {
		t := trialJSON{
			Limit: tidy(limitOf(p.Rule, trials[i])), OnDelay: delayOf(p.Rule, trials[i]).Seconds(),
			Count: len(fired), PerMonth: thousandths(p.Month(fired)), Night: p.Nights(fired), Fired: []firingJSON{},
		}
		for _, f := range fired {
			t.Fired = append(t.Fired, firingJSON{
				f.Raised.UTC(), f.Over.UTC(), f.Severity, tidy(f.Worst), tidy(f.Limit),
			})
		}
		out.Trials = append(out.Trials, t)
	}
	return out
}
