package command

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A room is the state of a daemon: of the running one, asked over its socket,
// or else of the files it left.
type room interface {
	entries(ctx context.Context) ([]book.Entry, error)
	probes(ctx context.Context) ([]string, error)
	// readings gives a probe's readings of a span.
	readings(ctx context.Context, probe string, s span) stream
	take(ctx context.Context, probe string, readings []incubation.Reading) error
	close() error
}

// A stream is readings, oldest first; a damaged stretch of them is an error.
type stream = iter.Seq2[incubation.Reading, error]

// A span is the time in [from, to).
type span struct{ from, to time.Time }

// always is the span of all readings.
var always = span{to: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// where are the flags that say which state is meant.
type where struct{ config, data string }

func (w *where) define(s *flag.FlagSet) {
	s.StringVar(&w.config, "config", "", "config `FILE`; none is needed")
	s.StringVar(&w.data, "data", "", "state `FOLDER` (default the config's)")
}

func (w *where) folder() (string, error) {
	if w.data != "" {
		return w.data, nil
	}
	cfg, err := loadConfig(w.config)
	if err != nil {
		return "", err
	}
	return cfg.Folder()
}

// open reaches the room.
func (w *where) open(ctx context.Context) (room, error) {
	folder, err := w.folder()
	if err != nil {
		return nil, err
	}
	if r, ok := dial(ctx, folder); ok {
		return r, nil
	}
	s, err := store.Open(ctx, folder, store.Options{})
	if err != nil {
		return nil, err
	}
	return files{s}, nil
}

// openExisting reaches a room that is there; it makes no folder.
func (w *where) openExisting(ctx context.Context) (room, error) {
	folder, err := w.folder()
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(folder, bookFile)); errors.Is(err, fs.ErrNotExist) {
		return nil, hint(fmt.Errorf("%s holds no state of clutchd", folder),
			"name the folder with -data, or its config with -config")
	}
	return w.open(ctx)
}

// bookFile is in every state folder.
const bookFile = "book.db"

// running is a daemon that answers on its socket.
type running struct{ client *http.Client }

func dial(ctx context.Context, folder string) (running, bool) {
	path := filepath.Join(folder, daemon.SocketFile)
	var d net.Dialer
	conn, err := d.DialContext(ctx, "unix", path)
	if err != nil {
		return running{}, false
	}
	_ = conn.Close()
	return running{&http.Client{Transport: &http.Transport{
		DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
			return d.DialContext(ctx, "unix", path)
		},
	}}}, true
}

// ask sends a request and gives the body of a good answer.
func (r running) ask(
	ctx context.Context, method, path string, body io.Reader,
) (io.ReadCloser, error) {
	req, err := http.NewRequestWithContext(ctx, method, "http://clutchd"+path, body)
	if err != nil {
		return nil, err
	}
	resp, err := r.client.Do(req)
	if err != nil {
		return nil, fmt.Errorf("ask the running daemon: %w", err)
	}
	if resp.StatusCode != http.StatusOK {
		defer resp.Body.Close()
		text, _ := io.ReadAll(io.LimitReader(resp.Body, 1000))
		return nil, fmt.Errorf("the running daemon says: %s", bytes.TrimSpace(text))
	}
	return resp.Body, nil
}

func (r running) get(ctx context.Context, path string, v any) error {
	body, err := r.ask(ctx, http.MethodGet, path, nil)
	if err != nil {
		return err
	}
	defer body.Close()
	return json.NewDecoder(body).Decode(v)
}

func (r running) entries(ctx context.Context) (es []book.Entry, err error) {
	return es, r.get(ctx, "/entries", &es)
}

func (r running) probes(ctx context.Context) (ids []string, err error) {
	return ids, r.get(ctx, "/probes", &ids)
}

func (r running) readings(ctx context.Context, probe string, s span) stream {
	return func(yield func(incubation.Reading, error) bool) {
		body, err := r.ask(ctx, http.MethodGet, "/readings?"+url.Values{
			"probe": {probe}, "from": {s.from.Format(time.RFC3339)}, "to": {s.to.Format(time.RFC3339)},
		}.Encode(), nil)
		if err != nil {
			yield(incubation.Reading{}, err)
			return
		}
		defer body.Close()
		for d := json.NewDecoder(body); ; {
			var l daemon.Line
			err := d.Decode(&l)
			if errors.Is(err, io.EOF) {
				return
			}
			if !yield(l.Reading(probe), err) || err != nil {
				return
			}
		}
	}
}

func (r running) take(ctx context.Context, probe string, readings []incubation.Reading) error {
	var body bytes.Buffer
	e := json.NewEncoder(&body)
	for _, reading := range readings {
		if err := e.Encode(daemon.LineOf(reading)); err != nil {
			return err
		}
	}
	answer, err := r.ask(ctx, http.MethodPost, "/import?probe="+url.QueryEscape(probe), &body)
	if err != nil {
		return err
	}
	return answer.Close()
}

func (r running) close() error { return nil }

// files is a state folder that no daemon holds.
type files struct{ store *store.Store }

func (f files) entries(ctx context.Context) ([]book.Entry, error) { return f.store.Entries(ctx) }

func (f files) probes(ctx context.Context) ([]string, error) { return f.store.Probes(ctx) }

func (f files) readings(ctx context.Context, probe string, s span) stream {
	return f.store.Range(ctx, probe, s.from, s.to)
}

func (f files) take(ctx context.Context, _ string, readings []incubation.Reading) error {
	return f.store.Append(ctx, readings)
}

func (f files) close() error { return f.store.Close() }
