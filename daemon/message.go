package daemon

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/config"
	"clutchd/daemon/mqtt"
	"clutchd/daemon/secure"
	"clutchd/daemon/webhook"
)

// A messenger sends test messages to every destination.
type messenger struct {
	site string
	zone *time.Location

	mu      sync.Mutex
	testers []alerts.Tester
}

// knows sets the destinations.
func (m *messenger) knows(testers []alerts.Tester) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.testers = testers
}

// send sends a message to every destination at once and reports, in their
// order, each hop. It takes as long as the slowest, half a minute at most.
func (m *messenger) send(ctx context.Context) []alerts.Report {
	m.mu.Lock()
	testers := m.testers
	m.mu.Unlock()
	n := alerts.TestMessage(m.site, time.Now().In(m.zone))
	out := make([]alerts.Report, len(testers))
	var sending sync.WaitGroup
	for i, t := range testers {
		sending.Go(func() {
			out[i] = alerts.Report{Destination: t.Destination(), Hops: t.Trial(ctx, n)}
		})
	}
	sending.Wait()
	return out
}

// answer is send over the program's own socket.
func (m *messenger) answer(w http.ResponseWriter, r *http.Request) { answer(w, m.send(r.Context())) }

// Message sends a test message to every destination of a config, with no
// daemon running.
func Message(ctx context.Context, cfg config.Config) ([]alerts.Report, error) {
	zone, err := cfg.Location()
	if err != nil {
		return nil, err
	}
	log := slog.New(slog.DiscardHandler)
	m := &messenger{site: cfg.Site, zone: zone}
	for _, r := range cfg.Brokers {
		c, err := mqtt.New(mqtt.Broker(r), mqtt.Options{Site: cfg.Site, Log: log})
		if err != nil {
			return nil, err
		}
		m.testers = append(m.testers, c)
	}
	hooks, err := hooks(cfg, log)
	if err != nil {
		return nil, err
	}
	for _, h := range hooks {
		m.testers = append(m.testers, h)
	}
	var reports []alerts.Report
	if cfg.Broker.Listen != "" {
		reports = append(reports, alerts.Report{Destination: "mqtt:" + config.BuiltIn, Hops: []alerts.Hop{{
			Name: "connect to the built-in broker",
			Err:  errors.New("it runs with the daemon, and that is not running"),
		}}})
	}
	return append(reports, m.send(ctx)...), nil
}

// hooks makes the webhooks that a config names.
func hooks(cfg config.Config, log *slog.Logger) ([]*webhook.Hook, error) {
	var out []*webhook.Hook
	for _, w := range cfg.Webhooks {
		h, err := webhook.New(webhook.Target{
			Name: w.Name, URL: w.URL, Format: w.Format, Headers: w.Headers, Critical: w.CriticalHeaders,
			HeaderFiles: w.HeaderFiles, TokenFile: w.TokenFile, SecretFile: w.SecretFile,
			Files: secure.Files{CA: w.CAFile, Cert: w.CertFile, Key: w.KeyFile},
		}, cfg.Site, log)
		if err != nil {
			return nil, fmt.Errorf("make the webhooks: %w", err)
		}
		out = append(out, h)
	}
	return out, nil
}
