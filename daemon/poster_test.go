package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/mqtt"
	"clutchd/daemon/store"
	"clutchd/daemon/webhook"
)

// posterEnv holds the orders of a poster: this test program is then one.
const posterEnv = "CLUTCHD_TEST_POSTER"

// A poster is the daemon's whole way of a notice, from the moment that it is
// judged: the store, the outbox, the brokers' clients and the webhooks are the
// daemon's own. In the judge's place stand alerts that are raised and cleared
// as fast as is asked for: a room that could raise a thousand would be told as
// a flood, in a few messages.
type poster struct {
	Folder  string
	Brokers map[string]string // URL by name
	Hooks   map[string]string
	Every   time.Duration // between notices, on average; zero: none, only what waits
	Dead    string        // a destination that is not waited for
	Secret  string        // file of the brokers' password for the user clutchd; "": none
}

// said is one line of a poster on its stdout.
type said struct {
	What       string // "posted": handed to the outbox; "kept": on the disk too; "unkept": not yet
	ID         uint64
	Alert      string
	Occurrence string
	Reason     alerts.Reason
	At         time.Time
	Err        string
}

func say(s said) {
	s.At = time.Now()
	text, _ := json.Marshal(s)
	fmt.Println(string(text))
}

func runPoster(text string) error {
	var p poster
	if err := json.Unmarshal([]byte(text), &p); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGTERM)
	defer stop()
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	kept, err := store.Open(ctx, p.Folder, store.Options{Log: log})
	if err != nil {
		return err
	}
	defer kept.Close()
	const block = 1 << 20
	first, err := kept.Reserve(ctx, block)
	if err != nil {
		return err
	}
	pending, cursors, err := kept.Outbox(ctx)
	if err != nil {
		return err
	}
	outbox := alerts.NewOutbox(pending, cursors, kept, log)
	var running sync.WaitGroup
	defer running.Wait()
	defer stop()
	var publishers []alerts.Publisher
	for name, url := range p.Brokers {
		c, err := mqtt.New(p.broker(name, url), mqtt.Options{Site: "home", Host: "poster", Log: log})
		if err != nil {
			return err
		}
		running.Go(func() { _ = c.Run(ctx) })
		publishers = append(publishers, c)
	}
	for name, url := range p.Hooks {
		h, err := webhook.New(webhook.Target{Name: name, URL: url}, "home", log)
		if err != nil {
			return err
		}
		publishers = append(publishers, h)
	}
	running.Go(func() { _ = outbox.Run(ctx, publishers...) })
	fmt.Println("ready")
	if p.Every == 0 {
		p.drain(ctx, outbox)
		return nil
	}
	return p.post(ctx, kept, outbox, first)
}

func (p poster) broker(name, url string) mqtt.Broker {
	b := mqtt.Broker{Name: name, URL: url, PasswordFile: p.Secret}
	if p.Secret != "" {
		b.User = "clutchd"
	}
	return b
}

// drain says so once nothing waits any more.
func (p poster) drain(ctx context.Context, outbox *alerts.Outbox) {
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	for told := false; ; {
		waiting := outbox.Pending()
		delete(waiting, p.Dead)
		sum := 0
		for _, n := range waiting {
			sum += n
		}
		if sum == 0 && len(waiting) > 0 && !told {
			told = true
			fmt.Println("drained")
		}
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
	}
}

const posterAlerts = 20

// post raises and clears alerts until ctx ends. As in the monitor, a notice is
// handed to the outbox at once and written down beside it, with its alert's
// state; what could not be written is tried again with what comes next.
func (p poster) post(ctx context.Context, kept *store.Store, outbox *alerts.Outbox, next uint64) error {
	states, err := posterStates(ctx, kept)
	if err != nil {
		return err
	}
	write := make(chan alerts.Notice, 10_000)
	var writing sync.WaitGroup
	writing.Go(func() { keepPosted(kept, write) })
	defer writing.Wait()
	defer close(write)
	for ; ; next++ {
		n := change(states, next)
		say(said{What: "posted", ID: n.ID, Alert: n.Alert, Occurrence: n.Occurrence, Reason: n.Reason})
		outbox.Post(n)
		write <- n
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(rand.N(2 * p.Every)):
		}
	}
}

func posterStates(ctx context.Context, kept *store.Store) ([]alerts.State, error) {
	stored, err := kept.States(ctx)
	if err != nil {
		return nil, err
	}
	var states []alerts.State
	for i := range posterAlerts {
		s := alerts.Subject{Kind: alerts.PlaceSubject, ID: fmt.Sprint("b", i), Name: fmt.Sprint("Box ", i)}
		states = append(states, alerts.State{Alert: alerts.AlertID("too-warm", s), Rule: "too-warm", Subject: s})
		for _, old := range stored {
			if old.Alert == states[i].Alert {
				states[i] = old
			}
		}
	}
	return states, nil
}

// change raises or clears one alert and gives the notice of it.
func change(states []alerts.State, id uint64) alerts.Notice {
	s := &states[rand.N(len(states))]
	now, reason := time.Now().UTC(), alerts.ReasonCleared
	if s.Phase == alerts.Active {
		s.Phase, s.Cleared = alerts.Cleared, now
	} else {
		reason = alerts.ReasonRaised
		worst := 30 + float64(id%100)/10
		s.Occurrence, s.Phase, s.Severity = fmt.Sprint("o", id), alerts.Active, alerts.Critical
		s.Since, s.Raised, s.Cleared, s.Value = now.Add(-time.Minute), now, time.Time{}, &worst
	}
	s.Text = fmt.Sprintf("%s: %s as number %d.", s.Subject.Name, reason, id)
	return alerts.NewNotice(id, *s, reason, now)
}

// keepPosted writes down what was posted, in order, until no more comes.
func keepPosted(kept *store.Store, from <-chan alerts.Notice) {
	var waiting []alerts.Notice
	for n := range from {
		waiting = append(waiting, n)
		states := map[string]alerts.State{}
		for _, w := range waiting {
			states[w.Alert] = w.State
		}
		var changed []alerts.State
		for _, s := range states {
			changed = append(changed, s)
		}
		if err := kept.CommitBook(context.Background(), nil, alerts.Changes{States: changed, Notices: waiting, Past: changed}); err != nil {
			say(said{What: "unkept", ID: n.ID, Err: err.Error()})
			continue
		}
		for _, w := range waiting {
			say(said{What: "kept", ID: w.ID, Alert: w.Alert, Occurrence: w.Occurrence, Reason: w.Reason})
		}
		waiting = nil
	}
}
