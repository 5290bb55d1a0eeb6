package web

import (
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"time"

	"clutchd/daemon/monitor"
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
			s.fail(w, http.StatusServiceUnavailable,
				problem{Text: "the first tick is not finished"})
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
		code, text = http.StatusInternalServerError,
			[]byte(`{"error":"this cannot be written as JSON"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(code)
	_, _ = w.Write(append(text, '\n'))
}

// thousandths rounds away what sums of floats leave behind.
func thousandths[T ~float64](v T) T { return T(math.Round(float64(v)*1000)/1000 + 0) } // no −0

// tidy is thousandths of a value that may be absent; one that is no number is
// absent too.
func tidy[T ~float64](v *T) *T {
	if v == nil || math.IsNaN(float64(*v)) || math.IsInf(float64(*v), 0) {
		return nil
	}
	t := thousandths(*v)
	return &t
}

// some makes an empty list of none.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
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
	_, err := s.do(r.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{
		Now: c.Now.UTC(),
		By:  c.By,
	}})
	return struct{}{}, err
}
