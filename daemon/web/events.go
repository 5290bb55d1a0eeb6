package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"time"
)

const (
	streamsMost = 32               // phones and tabs that listen at once
	streamWait  = 15 * time.Second // how long one may take to take an event
	streamBeat  = 20 * time.Second // a line at least this often
)

// A patch is what has changed on a page since it was made: texts by the
// element's data-live, states by its data-state, positions by its data-x.
type patch struct {
	Structure string            `json:"structure"`
	Now       string            `json:"now"`
	Late      string            `json:"late,omitempty"`
	Text      map[string]string `json:"text"`
	State     map[string]string `json:"state"`
	X         map[string]string `json:"x"`
	// News are the occurrences that are told, to be read out when they are new.
	News []newsJSON `json:"news"`
}

type newsJSON struct {
	Occurrence string `json:"occurrence"`
	Text       string `json:"text"`
}

// events tells open pages of each tick, until they go.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	if s.streams.Add(1) > streamsMost {
		s.streams.Add(-1)
		w.Header().Set("Retry-After", "60")
		http.Error(w, "too many pages listen already", http.StatusServiceUnavailable)
		return
	}
	defer s.streams.Add(-1)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	out := http.NewResponseController(w)
	beat := time.NewTicker(streamBeat)
	defer beat.Stop()
	for tick := uint64(0); ; {
		changed := s.o.Changed()
		v := s.visit(w, r)
		line := []byte(": still here\n\n")
		if begun(v.snap) && (v.snap.Tick != tick || ageOf(v.snap) > lateAfter) {
			tick = v.snap.Tick
			text, err := json.Marshal(v.patch())
			if err != nil {
				s.o.Log.Error("event not made", "error", err)
				return
			}
			line = fmt.Appendf(nil, "event: tick\ndata: %s\n\n", bytes.TrimSpace(text))
		}
		_ = out.SetWriteDeadline(time.Now().Add(streamWait))
		if _, err := w.Write(line); err != nil {
			return
		}
		if err := out.Flush(); err != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-beat.C:
		}
	}
}

// patch says what the room page says, from the same lines.
func (v *visit) patch() patch {
	p := patch{
		Structure: structure(v.snap), Now: v.say.moment(v.snap.Time),
		Text: map[string]string{}, State: map[string]string{}, X: map[string]string{}, News: []newsJSON{},
	}
	if age := ageOf(v.snap); age > lateAfter {
		p.Late = span(age)
	}
	for _, l := range v.placeLines() {
		p.Text["value "+l.ID], p.Text["humidity "+l.ID] = l.Value, l.Humidity
		p.Text["age "+l.ID], p.Text["word "+l.ID], p.Text["flag "+l.ID] = l.Age, l.State.Word,
			l.Flag
		p.State[l.ID] = l.State.Class
		if l.Mark != nil && l.Mark.Value != "" {
			p.X[l.ID] = l.Mark.Value
		}
	}
	for _, n := range v.snap.Probes {
		l := v.probeLine(n)
		p.Text["probe "+n.ID], p.Text["probe age "+n.ID] = l.Value, l.Age
	}
	for _, n := range v.snap.Contacts {
		l := v.contactLine(n)
		p.Text["contact "+n.ID], p.Text["contact word "+n.ID] = l.Says, l.State.Word
		p.State["contact "+n.ID] = l.State.Class
	}
	for _, a := range v.snap.Alerts {
		l := v.alertLine(a)
		p.Text["alert "+a.Alert], p.Text["alert lasts "+a.Alert] = l.Text, l.Lasts
		p.Text["alert facts "+a.Alert] = l.Facts
		if a.Told() && l.Acknowledged == "" && l.Shelved == "" {
			p.News = append(p.News, newsJSON{a.Occurrence, capital(l.State.Word) + ": " + l.Title + ", " + l.Where + "."})
		}
	}
	n, worst := unseen(v.snap)
	p.Text["unseen"], p.State["unseen"] = "", worst
	if n > 0 {
		p.Text["unseen"] = strconv.Itoa(n)
	}
	return p
}
