package web

import (
	"net/http"
	"time"
)

type healthJSON struct {
	OK         bool      `json:"ok"`
	AgeSeconds float64   `json:"age_seconds"` // of the last finished tick
	Tick       uint64    `json:"tick"`
	Time       time.Time `json:"time,omitzero"`
	Text       string    `json:"text"`
}

// health says whether the watch goes on: the age of the last finished tick,
// and 503 once that is more than a minute.
func (s *Server) health(w http.ResponseWriter, _ *http.Request) {
	snap := s.o.Snapshot()
	if !begun(snap) {
		writeJSON(w, http.StatusServiceUnavailable, healthJSON{Text: "no tick has finished yet"})
		return
	}
	age := ageOf(snap)
	h := healthJSON{
		OK: true, AgeSeconds: age.Seconds(), Tick: snap.Tick,
		Time: snap.Time.UTC(), Text: "the last tick finished " + span(age) + " ago",
	}
	code := http.StatusOK
	if age > lateAfter {
		h.OK, code = false, http.StatusServiceUnavailable
	}
	writeJSON(w, code, h)
}
