// Package web serves the keeper's pages and the same facts as JSON, from the
// snapshot of the last tick.
//
// It decides nothing and reads no sensor: what a person changes goes through
// the door, one change at a time. It speaks HTTP, or TLS with a certificate from
// a file; who may see and do what is decided in guard.go alone. Temperatures are °C and humidities ratios in JSON;
// pages show °C or °F and percent, and times in the room's zone. Sources: Go
// net/http, RFC 9106 (argon2id), the WHATWG event stream.
package web

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"iter"
	"log/slog"
	"net"
	"net/http"
	"sync/atomic"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A Door lets a change through, or says why not: a refusal is a
// *monitor.Refusal, anything else means that it could not be made durable.
// Do may be called from several goroutines.
type Door interface {
	Do(ctx context.Context, c monitor.Change) (monitor.Done, error)
}

// A History gives stored readings of a probe in [from, to), oldest first,
// raw: without the offset of the probe's placement. An error inside a range
// is a damaged stretch; the range goes on behind it.
type History interface {
	Range(ctx context.Context, probe string, from, to time.Time) iter.Seq2[incubation.Reading,
		error]
}

// A Doubter gives a live egg's estimate without each doubt in turn; a refusal
// is a *monitor.Refusal. Narrowings may be called from several goroutines.
type Doubter interface {
	Narrowings(egg string) ([]incubation.Narrowing, error)
}

// Options say what a Server serves and to whom.
type Options struct {
	Listen       string   // host:port; anything but loopback needs a password
	Hosts        []string // further names the pages may be opened under
	PasswordHash string   // of HashPassword; "": none
	Keep         Keep     // nil: tokens and sessions end with the program
	// Certificate gives what TLS is spoken with; nil: plain HTTP. It is asked
	// at each connection, so that a renewed one needs no restart.
	Certificate func(*tls.ClientHelloInfo) (*tls.Certificate, error)

	Snapshot func() *monitor.Snapshot  // nil before the first tick
	Changed  func() <-chan struct{}    // closed at the next tick
	Entries  func(uint64) []book.Entry // those with a sequence above it, in order
	Door     Door                      // where changes go
	History  History                   // nil: pages without charts
	Planner  Planner                   // nil: nothing is planned
	Doubts   Doubter                   // nil: pages do not say what would narrow an estimate
	// Track gives an egg's whole record, nil while there is none; nil: pages do
	// not say what an estimate was on the way.
	Track    func(egg string) *incubation.Track
	Past     Past      // nil: no alerts of the past are known
	Photos   Photos    // nil: no pictures are kept
	Rehearse Previewer // nil: no rule can be tried on the past
	Press    Press     // nil: nothing is printed
	// Message sends a test message to every destination; nil: there are none.
	Message func(context.Context) []alerts.Report
	Profile incubation.Profile // what estimates assume; may be empty
	Metrics http.Handler       // nil: no /metrics
	Log     *slog.Logger       // nil: discarded
	Zone    *time.Location     // of the room; nil: UTC
	Units   string             // "C" or "F", until a visitor chooses; "": C
}

// A Server is the pages and the API of one room.
type Server struct {
	o        Options
	names    names
	login    *login
	look     *look
	listener net.Listener
	streams  atomic.Int32
	looks    looks
	messaged atomic.Bool // a test message went through, since this server was made
	ways     *http.ServeMux
	known    map[string]route // by pattern
	reviews  keptReviews
}

// New checks the options. It refuses an address that others can reach while
// there is no password.
func New(o Options) (*Server, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	names, err := namesOf(o.Listen, o.Hosts)
	if err != nil {
		return nil, err
	}
	if o.PasswordHash == "" && !names.loopback {
		return nil, fmt.Errorf("serve pages on %s: others can reach that address and no "+
			"password is set\nset one with `clutchd password`, or listen on 127.0.0.1", o.Listen)
	}
	login, err := newLogin(o.PasswordHash, o.Keep, o.Log)
	if err != nil {
		return nil, err
	}
	look, err := newLook()
	if err != nil {
		return nil, err
	}
	s := &Server{o: o, names: names, login: login, look: look}
	s.lay()
	return s, nil
}

// Listen binds the address, so that Addr is known and pages can be opened
// once Run is called. Run does it when nobody did.
func (s *Server) Listen(ctx context.Context) error {
	if s.listener != nil {
		return nil
	}
	var c net.ListenConfig
	l, err := c.Listen(ctx, "tcp", s.o.Listen)
	if err != nil {
		return fmt.Errorf("serve pages on %s: %w", s.o.Listen, err)
	}
	s.listener = l
	return nil
}

// Addr is the bound address; nil before Listen.
func (s *Server) Addr() net.Addr {
	if s.listener == nil {
		return nil
	}
	return s.listener.Addr()
}

// Run serves until ctx is done, then lets running requests end for a moment.
func (s *Server) Run(ctx context.Context) error {
	if err := s.Listen(ctx); err != nil {
		return err
	}
	h := &http.Server{
		Handler:           s.Handler(),
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      time.Minute, // the event stream sets its own
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(s.o.Log.Handler(), slog.LevelDebug),
		BaseContext:       func(net.Listener) context.Context { return ctx },
	}
	stopped := make(chan error, 1)
	stop := context.AfterFunc(ctx, func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
		defer cancel()
		stopped <- h.Shutdown(last)
	})
	err := s.serve(h)
	s.login.savers.Wait()
	if stop() {
		return fmt.Errorf("serve pages on %s: %w", s.o.Listen, err)
	}
	if err := <-stopped; err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("stop the pages: %w", err)
	}
	return nil
}

// serve speaks HTTP, over TLS if there is a certificate.
func (s *Server) serve(h *http.Server) error {
	if s.o.Certificate == nil {
		return h.Serve(s.listener)
	}
	h.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: s.o.Certificate}
	return h.ServeTLS(s.listener, "", "")
}
