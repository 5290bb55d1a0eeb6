package web

import (
	"net/http"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/season"
)

// A dueJSON is one thing that is due.
type dueJSON struct {
	Key     string         `json:"key"`
	Kind    season.Kind    `json:"kind"`
	Urgency season.Urgency `json:"urgency"`
	From    time.Time      `json:"from"`
	By      time.Time      `json:"by"`
	Do      string         `json:"do"`
	Why     string         `json:"why"`
	Animals []string       `json:"animals"`
	Clutch  string         `json:"clutch,omitempty"`
	Eggs    []string       `json:"eggs"`
	Place   string         `json:"place,omitempty"`
}

func (s *Server) apiDue(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := []dueJSON{}
	for _, i := range s.herdAt(snap, words{zone: s.o.Zone, now: snap.Time, dates: inWords}).due() {
		out = append(out, dueJSON{
			Key: i.Key, Kind: i.Kind, Urgency: i.Urgency, From: i.From, By: i.By, Do: i.Do, Why: i.Why,
			Animals: some(i.Animals), Clutch: i.Clutch, Eggs: some(i.Eggs), Place: i.Place,
		})
	}
	return out, nil
}
