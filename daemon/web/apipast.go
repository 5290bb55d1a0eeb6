package web

import (
	"net/http"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// stretch reads from and to of a request: the last 30 days, if absent.
func stretch(r *http.Request, now time.Time) (from, to time.Time, err error) {
	if to, err = moment(r, "to", now); err != nil {
		return from, to, err
	}
	if from, err = moment(r, "from", to.Add(-recent)); err != nil {
		return from, to, err
	}
	switch {
	case !from.Before(to):
		return from, to, wrong("from", "from is not before to")
	case to.Sub(from) > rangeMost:
		return from, to, wrong("from", "more than 400 days are asked for at once")
	}
	return from, to, nil
}

func (s *Server) apiAlertHistory(snap *monitor.Snapshot, r *http.Request) (any, error) {
	from, to, err := stretch(r, snap.Time)
	if err != nil {
		return nil, err
	}
	past, err := s.past(r.Context(), from, to)
	if err != nil {
		return nil, err
	}
	rule, place := r.URL.Query().Get("rule"), r.URL.Query().Get("place")
	past = slices.DeleteFunc(past, func(a alerts.State) bool {
		return rule != "" && a.Rule != rule || place != "" && placeOfAlert(snap, a) != place
	})
	return alertsJSON(past), nil
}

type tallyJSON struct {
	From     time.Time       `json:"from"`
	To       time.Time       `json:"to"`
	Critical int             `json:"critical"`
	Warning  int             `json:"warning"`
	Notice   int             `json:"notice"`
	Busiest  int             `json:"busiest_ten_minutes"`
	Floods   int             `json:"floods"`
	Restless int             `json:"chattering_or_fleeting"`
	Standing int             `json:"standing_at_one_time"`
	Rules    []ruleTallyJSON `json:"rules"`
	Top      []topJSON       `json:"top"`
	countedJSON
	Figures   []figureJSON `json:"figures"`
	Benchmark string       `json:"benchmark"`
	Goal      string       `json:"goal"`
}

type countedJSON struct {
	Raised       int `json:"raised"`
	Night        int `json:"night"`
	Acknowledged int `json:"acknowledged"`
	Fleeting     int `json:"fleeting"`
	Chattering   int `json:"chattering"`
	Standing     int `json:"standing"`
}

type ruleTallyJSON struct {
	Rule string `json:"rule"`
	countedJSON
}

type topJSON struct {
	Alert   string         `json:"alert"`
	Rule    string         `json:"rule"`
	Subject alerts.Subject `json:"subject"`
	Raised  int            `json:"raised"`
}

type figureJSON struct {
	What   string `json:"what"`
	Here   string `json:"here"`
	Target string `json:"target"`
	Most   string `json:"most,omitempty"`
}

func (s *Server) apiTally(snap *monitor.Snapshot, r *http.Request) (any, error) {
	from, to, err := stretch(r, snap.Time)
	if err != nil {
		return nil, err
	}
	past, err := s.past(r.Context(), from, to)
	if err != nil {
		return nil, err
	}
	t := alerts.Count(past, from, to, s.o.Zone)
	out := tallyJSON{
		From: from.UTC(), To: to.UTC(), Critical: t.Critical, Warning: t.Warning, Notice: t.Notice,
		Busiest: t.Busiest, Floods: t.Floods, Restless: t.Restless, Standing: t.StandingMost,
		Rules: []ruleTallyJSON{}, Top: []topJSON{}, countedJSON: countedJSON(t.Counted), Figures: []figureJSON{},
		Benchmark: alerts.Benchmark, Goal: alerts.Goal,
	}
	for _, rule := range t.Rules {
		out.Rules = append(out.Rules, ruleTallyJSON{rule.Rule, countedJSON(rule.Counted)})
	}
	for _, c := range t.Top {
		out.Top = append(out.Top, topJSON(c))
	}
	for _, f := range t.Figures() {
		out.Figures = append(out.Figures, figureJSON(f))
	}
	return out, nil
}
