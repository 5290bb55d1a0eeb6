package web

import (
	"cmp"
	"net/http"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// An alertJSON is an alert; times that have not come are absent.
type alertJSON struct {
	Alert          string          `json:"alert"`
	Occurrence     string          `json:"occurrence,omitempty"`
	Rule           string          `json:"rule"`
	Subject        alerts.Subject  `json:"subject"`
	Phase          alerts.Phase    `json:"state"`
	Severity       alerts.Severity `json:"severity"`
	Since          time.Time       `json:"since,omitzero"`
	Raised         time.Time       `json:"raised,omitzero"`
	Ended          time.Time       `json:"ended,omitzero"`
	Cleared        time.Time       `json:"cleared,omitzero"`
	Acknowledged   time.Time       `json:"acknowledged,omitzero"`
	AcknowledgedBy string          `json:"acknowledged_by,omitempty"`
	ShelvedUntil   time.Time       `json:"shelved_until,omitzero"`
	ShelvedBy      string          `json:"shelved_by,omitempty"`
	ShelvedWhy     string          `json:"shelved_why,omitempty"`
	Latched        bool            `json:"latched,omitempty"`
	Value          *float64        `json:"value,omitempty"`
	Limit          *float64        `json:"limit,omitempty"`
	Unit           string          `json:"unit,omitempty"`
	Eggs           []string        `json:"eggs"`
	Text           string          `json:"text"`
}

func (s *Server) apiAlerts(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	return alertsJSON(snap.Alerts), nil
}

func alertsJSON(list []alerts.State) []alertJSON {
	out := []alertJSON{}
	for _, a := range list {
		out = append(out, alertJSON{
			Alert: a.Alert, Occurrence: a.Occurrence, Rule: a.Rule,
			Subject: a.Subject, Phase: a.Phase, Severity: a.Severity, Since: a.Since.UTC(),
			Raised: a.Raised.UTC(), Ended: a.Ended.UTC(), Cleared: a.Cleared.UTC(),
			Acknowledged: a.Acknowledged.UTC(), AcknowledgedBy: a.AcknowledgedBy,
			ShelvedUntil: a.ShelvedUntil.UTC(), ShelvedBy: a.ShelvedBy,
			ShelvedWhy: a.ShelvedWhy, Latched: a.Latched,
			Value: a.Value, Limit: a.Limit, Unit: a.Unit, Eggs: some(a.Eggs), Text: a.Text,
		})
	}
	return out
}

// A seenJSON names the occurrence that is meant, so that a late tap never
// silences the next one.
type seenJSON struct {
	Occurrence string `json:"occurrence"`
	By         string `json:"by,omitempty"`
	Why        string `json:"why,omitempty"`
}

func (b seenJSON) by() string { return cmp.Or(b.By, program) }

func (s *Server) apiAcknowledge(snap *monitor.Snapshot, r *http.Request) (any, error) {
	var b seenJSON
	if err := readJSON(r.Body, &b); err != nil {
		return nil, err
	}
	if b.Occurrence == "" {
		return nil, wrong("occurrence", "occurrence is missing")
	}
	return s.changed(r, monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert: r.PathValue("id"), Occurrence: b.Occurrence, By: b.by(), Why: b.Why,
	}})
}

func (s *Server) changed(r *http.Request, c monitor.Change) (any, error) {
	_, err := s.do(r.Context(), c)
	return struct{}{}, err
}
