package command

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

	"clutchd/alerts"
	"clutchd/daemon"
)

const messageUsage = "message [-config FILE] [-data DIR]"

// Message sends a test message to every destination, from the running daemon
// or else from here, and reports each hop.
func Message(ctx context.Context, c Call) error {
	var at where
	if err := c.Bare(messageUsage, at.define); err != nil {
		return err
	}
	reports, err := at.message(ctx)
	if err != nil {
		return err
	}
	if len(reports) == 0 {
		return hint(errors.New("there is nobody to send a message to"),
			"name a broker ([[mqtt]]) or a webhook ([[webhook]]) in the config")
	}
	missed := 0
	for _, r := range reports {
		for _, h := range r.Hops {
			said := "passed"
			if h.Err != nil {
				said = "FAILED: " + h.Err.Error()
			}
			fmt.Fprintf(c.Stdout, "%s: %s: %s\n", r.Destination, h.Name, said)
		}
		if !r.Arrived() {
			missed++
		}
	}
	if missed > 0 {
		return hint(fmt.Errorf("the test message did not arrive at %d of %s", missed, counted(len(reports), "destination")),
			"each line that says FAILED tells where it ended, and why")
	}
	return nil
}

// message asks the running daemon, which has the connections that notices go
// over, or sends from here.
func (w *where) message(ctx context.Context) ([]alerts.Report, error) {
	folder, err := w.folder()
	if err != nil {
		return nil, err
	}
	r, ok := dial(ctx, folder)
	if !ok {
		cfg, err := loadConfig(w.config)
		if err != nil {
			return nil, err
		}
		return daemon.Message(ctx, cfg)
	}
	answer, err := r.ask(ctx, http.MethodPost, "/message", nil)
	if err != nil {
		return nil, err
	}
	defer answer.Close()
	var reports []alerts.Report
	if err := json.NewDecoder(answer).Decode(&reports); err != nil {
		return nil, fmt.Errorf("read the daemon's answer: %w", err)
	}
	return reports, nil
}
