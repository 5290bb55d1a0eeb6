package daemon

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/review"
)

// SocketFile is where a running daemon is reached, in its state folder.
const SocketFile = "control.sock"

// A Line is one reading on the socket and in exported files.
type Line struct {
	Time     time.Time            `json:"time"`
	Celsius  *incubation.Celsius  `json:"celsius,omitempty"`
	Humidity *incubation.Humidity `json:"humidity_ratio,omitempty"`
	Quality  incubation.Quality   `json:"quality"`
}

// LineOf gives a reading as a line.
func LineOf(r incubation.Reading) Line {
	l := Line{Time: r.Time, Quality: r.Quality}
	if r.Has&incubation.Temperature != 0 {
		l.Celsius = &r.Celsius
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		l.Humidity = &r.Humidity
	}
	return l
}

// Reading gives a line as a reading of a probe.
func (l Line) Reading(probe string) incubation.Reading {
	r := incubation.Reading{Probe: probe, Time: l.Time, Quality: l.Quality}
	if l.Celsius != nil {
		r.Has, r.Celsius = r.Has|incubation.Temperature, *l.Celsius
	}
	if l.Humidity != nil {
		r.Has, r.Humidity = r.Has|incubation.RelativeHumidity, *l.Humidity
	}
	return r
}

// control serves the program's own commands over a unix socket that only the
// daemon's user can open.
type control struct {
	monitor *monitor.Monitor
	store   monitor.Store
	probes  func(context.Context) ([]string, error) // with a history
	message *messenger
	pages   web.Options // what a review is made from
}

func (c *control) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /entries", c.entries)
	mux.HandleFunc("GET /probes", c.probeIDs)
	mux.HandleFunc("GET /snapshot", c.snapshot)
	mux.HandleFunc("GET /contacts", c.contacts)
	mux.HandleFunc("GET /readings", c.readings)
	mux.HandleFunc("GET /review", c.review)
	mux.HandleFunc("POST /import", c.take)
	mux.HandleFunc("POST /message", c.message.answer)
	return mux
}

func (c *control) entries(w http.ResponseWriter, _ *http.Request) {
	answer(w, c.monitor.Entries(0))
}

func (c *control) probeIDs(w http.ResponseWriter, r *http.Request) {
	ids, err := c.probes(r.Context())
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	answer(w, ids)
}

func (c *control) snapshot(w http.ResponseWriter, _ *http.Request) {
	answer(w, c.monitor.Snapshot().Probes)
}

func (c *control) contacts(w http.ResponseWriter, _ *http.Request) {
	answer(w, c.monitor.Snapshot().Contacts)
}

// review gives a clutch's review as of the last tick.
func (c *control) review(w http.ResponseWriter, r *http.Request) {
	if err := c.monitor.Sync(r.Context()); err != nil {
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	a := web.AskFor(r.Context(), c.pages, c.monitor.Snapshot(), r.FormValue("clutch"))
	a.Course = true
	whole, err := review.Of(a)
	switch {
	case r.Context().Err() != nil:
	case err != nil:
		http.Error(w, err.Error(), http.StatusNotFound)
	default:
		answer(w, whole)
	}
}

// readings streams a probe's history, a JSON line each; from and to may bound
// it.
func (c *control) readings(w http.ResponseWriter, r *http.Request) {
	from, to := time.Time{}, farFuture
	for name, at := range map[string]*time.Time{"from": &from, "to": &to} {
		text := r.FormValue(name)
		if text == "" {
			continue
		}
		var err error
		if *at, err = time.Parse(time.RFC3339, text); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
	}
	if err := c.monitor.Sync(r.Context()); err != nil {
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	out := json.NewEncoder(w)
	for reading, err := range c.store.Range(r.Context(), r.FormValue("probe"), from, to) {
		if err != nil {
			continue // a damaged stretch is a gap, told when the store was opened
		}
		if out.Encode(LineOf(reading)) != nil {
			return
		}
	}
}

// farFuture ends a range that takes all.
var farFuture = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// take brings readings, a JSON line each, into a probe's history.
func (c *control) take(w http.ResponseWriter, r *http.Request) {
	probe := r.FormValue("probe")
	readings, err := ReadLines(bufio.NewReader(r.Body), probe)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	if err := c.monitor.Import(r.Context(), probe, readings); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	answer(w, len(readings))
}

// ReadLines reads lines until the end.
func ReadLines(in io.Reader, probe string) ([]incubation.Reading, error) {
	var out []incubation.Reading
	for d := json.NewDecoder(in); ; {
		var l Line
		switch err := d.Decode(&l); {
		case errors.Is(err, io.EOF):
			return out, nil
		case err != nil:
			return nil, fmt.Errorf("reading %d: %w", len(out)+1, err)
		}
		out = append(out, l.Reading(probe))
	}
}

func answer(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(v) // the other end has gone: nobody to tell
}

// serve listens in the folder until ctx ends. The lock on the folder is held,
// so a socket that lies there is a dead one.
func (c *control) serve(ctx context.Context, folder string) error {
	path := filepath.Join(folder, SocketFile)
	_ = os.Remove(path)
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "unix", path)
	if err != nil {
		return fmt.Errorf("listen on %s: %w", path, err)
	}
	if err := os.Chmod(path, 0o600); err != nil {
		return fmt.Errorf("keep %s to ourselves: %w", path, err)
	}
	server := &http.Server{Handler: c.handler(), ReadHeaderTimeout: 5 * time.Second}
	return serve(ctx, server, l)
}

// serve runs a server until ctx ends, and gives running requests a moment.
func serve(ctx context.Context, server *http.Server, l net.Listener) error {
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
		defer cancel()
		if server.Shutdown(late) != nil {
			_ = server.Close()
		}
		return nil
	}
}
