package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A refused is an answer of the API that is not what was asked for.
type refused struct {
	code int
	problem
}

func (r refused) Error() string { return r.Text }

func notFound(what string) error {
	return refused{http.StatusNotFound, problem{Text: what + " is not known here"}}
}

func wrong(field, text string) error {
	return refused{http.StatusUnprocessableEntity, problem{field, text}}
}

// api turns a function of the snapshot into a handler that answers in JSON.
func (s *Server) api(answer func(*monitor.Snapshot, *http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		snap := s.o.Snapshot()
		if !begun(snap) {
			w.Header().Set("Retry-After", "5")
			s.fail(w, http.StatusServiceUnavailable, problem{Text: "the first tick is not finished"})
			return
		}
		out, err := answer(snap, r)
		if err != nil {
			p, code := s.whyNot(err)
			s.fail(w, code, p)
			return
		}
		code := http.StatusOK
		if e, ok := out.(enteredJSON); ok && !e.Duplicate {
			code = http.StatusCreated
		}
		writeJSON(w, code, out)
	}
}

func (s *Server) whyNot(err error) (problem, int) {
	if r, ok := errors.AsType[refused](err); ok {
		return r.problem, r.code
	}
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return problem{Text: "the request is too long"}, http.StatusRequestEntityTooLarge
	}
	return s.why(err)
}

func (s *Server) fail(w http.ResponseWriter, code int, p problem) { writeJSON(w, code, p) }

// writeJSON writes an answer whole; one that cannot be written as JSON
// becomes an error, not half an answer.
func writeJSON(w http.ResponseWriter, code int, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		code, text = http.StatusInternalServerError, []byte(`{"error":"this cannot be written as JSON"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	_, _ = w.Write(append(text, '\n'))
}

// some makes an empty list of none.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

type roomJSON struct {
	Site    string      `json:"site"`
	Time    time.Time   `json:"time"`
	Trusted bool        `json:"clock_trusted"`
	Tick    uint64      `json:"tick"`
	Fault   string      `json:"store_fault,omitempty"`
	Places  []placeJSON `json:"places"`
	Probes  []probeJSON `json:"probes"`
}

type placeJSON struct {
	ID             string               `json:"id"`
	Kind           incubation.PlaceKind `json:"kind"`
	Name           string               `json:"name"`
	Path           string               `json:"path"`
	In             string               `json:"in,omitempty"`
	Celsius        *incubation.Celsius  `json:"celsius,omitempty"`
	Humidity       *incubation.Humidity `json:"humidity_ratio,omitempty"`
	Read           time.Time            `json:"read,omitzero"`
	Setpoint       *incubation.Celsius  `json:"setpoint_celsius,omitempty"`
	Low            *incubation.Celsius  `json:"low_celsius,omitempty"`
	High           *incubation.Celsius  `json:"high_celsius,omitempty"`
	LowHumidity    *incubation.Humidity `json:"low_humidity_ratio,omitempty"`
	Offset         *float64             `json:"offset_kelvin,omitempty"`
	Settling       time.Time            `json:"settling_until,omitzero"`
	Probes         []string             `json:"probes"`
	Eggs           []string             `json:"eggs"`
	WorstAlertKind string               `json:"worst_severity,omitempty"`
}

type probeJSON struct {
	ID       string               `json:"id"`
	Model    string               `json:"model"`
	Source   string               `json:"source"`
	Place    string               `json:"place,omitempty"`
	Position incubation.Position  `json:"position,omitempty"`
	Interval float64              `json:"interval_seconds"`
	Celsius  *incubation.Celsius  `json:"celsius,omitempty"`
	Humidity *incubation.Humidity `json:"humidity_ratio,omitempty"`
	Read     time.Time            `json:"read,omitzero"`
	Stale    bool                 `json:"stale"`
	Fault    string               `json:"fault,omitempty"`
	Quality  string               `json:"quality,omitempty"`
}

func (s *Server) apiRoom(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := roomJSON{Site: snap.Site, Time: snap.Time.UTC(), Trusted: snap.Trusted, Tick: snap.Tick,
		Fault: snap.StoreFault, Places: []placeJSON{}, Probes: []probeJSON{}}
	for _, p := range snap.Places {
		out.Places = append(out.Places, placeJSON{ID: p.ID, Kind: p.Kind, Name: p.Name, Path: p.Path,
			In: p.In, Celsius: p.Celsius, Humidity: p.Humidity, Read: p.Read.UTC(), Setpoint: p.Setpoint,
			Low: p.Low, High: p.High, LowHumidity: p.LowHumidity, Offset: p.Offset,
			Settling: p.Settling.UTC(), Probes: some(p.Probes), Eggs: some(p.Eggs),
			WorstAlertKind: string(p.Worst)})
	}
	for _, p := range snap.Probes {
		out.Probes = append(out.Probes, probeOf(p))
	}
	return out, nil
}

// probeOf leaves a stale probe's value out: it is absent, never frozen.
func probeOf(p monitor.ProbeNow) probeJSON {
	out := probeJSON{ID: p.ID, Model: p.Model, Source: p.Source, Place: p.Place, Position: p.Position,
		Interval: p.Interval.Seconds(), Read: p.Latest.Time.UTC(), Stale: p.Stale, Fault: string(p.Fault)}
	if p.Stale || p.Latest.Time.IsZero() {
		return out
	}
	out.Quality = p.Latest.Quality.String()
	if p.Latest.Has&incubation.Temperature != 0 {
		out.Celsius = &p.Latest.Celsius
	}
	if p.Latest.Has&incubation.RelativeHumidity != 0 {
		out.Humidity = &p.Latest.Humidity
	}
	return out
}

// plainClutch is a clutch as the API gives it: lists are never null. holds
// keeps the table of what holding a temperature would give.
func plainClutch(c monitor.ClutchNow, holds bool) monitor.ClutchNow {
	c.Males, c.Eggs = some(c.Males), some(slices.Clone(c.Eggs))
	for i := range c.Eggs {
		if e := c.Eggs[i].Estimate; e != nil && !holds {
			short := *e
			short.HoldFromNow = nil
			c.Eggs[i].Estimate = &short
		}
	}
	return c
}

func (s *Server) apiClutches(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := []monitor.ClutchNow{}
	for _, c := range snap.Clutches {
		out = append(out, plainClutch(c, false))
	}
	return out, nil
}

func (s *Server) apiClutch(snap *monitor.Snapshot, r *http.Request) (any, error) {
	c := clutchOf(snap, r.PathValue("id"))
	if c == nil {
		return nil, notFound("clutch " + r.PathValue("id"))
	}
	return plainClutch(*c, true), nil
}

type enteredJSON struct {
	Entry     book.Entry `json:"entry"`
	Duplicate bool       `json:"duplicate"`
}

func (s *Server) apiEntries(_ *monitor.Snapshot, r *http.Request) (any, error) {
	since, err := count(r, "since", 0, 1<<62)
	if err != nil {
		return nil, err
	}
	return some(s.o.Entries(uint64(since))), nil
}

func (s *Server) apiPostEntry(_ *monitor.Snapshot, r *http.Request) (any, error) {
	e, err := readEntry(r.Body)
	if err != nil {
		return nil, err
	}
	if e.Zone == "" {
		e.Zone = s.o.Zone.String()
	}
	done, err := s.do(r.Context(), monitor.Change{Entry: &e})
	if err != nil {
		return nil, err
	}
	return enteredJSON(done), nil
}

type clockJSON struct {
	Now time.Time `json:"now"`
	By  string    `json:"by,omitempty"`
}

func (s *Server) apiClock(_ *monitor.Snapshot, r *http.Request) (any, error) {
	var c clockJSON
	if err := readJSON(r.Body, &c); err != nil {
		return nil, err
	}
	if c.Now.IsZero() {
		return nil, wrong("now", "now is missing")
	}
	_, err := s.do(r.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{Now: c.Now.UTC(), By: c.By}})
	return struct{}{}, err
}
