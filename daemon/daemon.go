// Package daemon wires the rooms together: sensors to the monitor, the monitor
// to the store, the outbox and the pages. It is the only place that sees all,
// and decides nothing itself.
package daemon

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	sdnotify "github.com/coreos/go-systemd/v22/daemon"
	"golang.org/x/sync/errgroup"

	"clutchd/alerts"
	"clutchd/daemon/broker"
	"clutchd/daemon/config"
	"clutchd/daemon/metrics"
	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
	"clutchd/daemon/paper"
	"clutchd/daemon/store"
	"clutchd/daemon/web"
	"clutchd/incubation/species"
	"clutchd/sensors"
	"clutchd/sensors/contact"
	"clutchd/sensors/mqttin"
)

var _ monitor.Store = (*store.Store)(nil)

// PasswordFile holds the hash of the pages' password, in the state folder.
const PasswordFile = "password"

// tickEvery is the beat of the monitor.
const tickEvery = 10 * time.Second

// members is the size of the ensemble.
const members = 1000

// Settings say how the daemon is to run. Config and Log are needed.
type Settings struct {
	Config config.Config
	Log    *slog.Logger
	// Sampler stands in for the machine's sensors; nil: those of the config.
	Sampler monitor.Sampler
	// Contacts stands in for the machine's contacts; nil: those of the config.
	Contacts monitor.ContactSampler
	// Clock stands in for the machine's clock, and is asked once a tick; nil:
	// that one. What devices say is then taken to be said at the next tick.
	Clock func() monitor.Instant
	// Tick is the beat of the monitor; zero: ten seconds.
	Tick time.Duration
	// Prepare runs before the first live tick, with the monitor started and
	// its store writing, nothing sent yet. May be nil.
	Prepare func(ctx context.Context, m *monitor.Monitor) error
	// Ready is told the pages' address once they can be opened. May be nil.
	Ready func(Addresses)
}

// Addresses are where the daemon can be reached; nil: there it cannot.
type Addresses struct{ Web, Broker net.Addr }

// Run runs the daemon until ctx ends or something it cannot do without fails.
func Run(ctx context.Context, s Settings) error {
	cfg, log := s.Config, s.Log
	folder, err := cfg.Folder()
	if err != nil {
		return err
	}
	zone, err := cfg.Location()
	if err != nil {
		return err
	}
	wires := contact.Open(cfg.ContactSpecs()) // before anything else opens a file
	kept, err := store.Open(ctx, folder, store.Options{Log: log, Socket: filepath.Join(folder, SocketFile)})
	if err != nil {
		return err
	}
	defer func() {
		if err := kept.Close(); err != nil {
			log.Error("store not closed", "error", err)
		}
	}()
	pending, cursors, err := kept.Outbox(ctx)
	if err != nil {
		return fmt.Errorf("read the outbox: %w", err)
	}
	outbox := alerts.NewOutbox(pending, cursors, kept, log)

	bank := sensors.NewBank(log)
	sampler := s.Sampler
	switch {
	case sampler == nil && s.Clock != nil:
		sampler = retold{bank}
	case sampler == nil:
		sampler = bank
	}
	board := sensors.NewBoard(log)
	for _, c := range wires.Contacts() {
		board.Announce(c)
	}
	contacts := s.Contacts
	switch {
	case contacts == nil && s.Clock != nil:
		contacts = retoldBoard{board}
	case contacts == nil:
		contacts = board
	}
	clock := s.Clock
	if clock == nil {
		clock = newMachineClock(cfg.Clock == config.ClockSystem).now
	}
	m := monitor.New(monitor.Options{
		Site: cfg.Site, Zone: zone.String(), Store: kept, Sampler: sampler, Contacts: contacts, Poster: outbox,
		Ensemble: species.Ensemble(members), Log: log,
		Fahrenheit: cfg.Unit == "F", Quiet: s.Prepare != nil, Damage: kept.Damage,
	})
	if err := m.Start(ctx); err != nil {
		return err
	}

	ctx, stop := context.WithCancel(ctx)
	defer stop()
	// Addresses are taken before anything else is begun: one that another
	// program has is told at once.
	var at Addresses
	var pages *web.Server
	message := &messenger{site: cfg.Site, zone: zone}
	if cfg.Web.Listen != "" {
		hash, err := passwordHash(folder)
		if err != nil {
			return err
		}
		pages, err = web.New(web.Options{
			Listen: cfg.Web.Listen, Hosts: cfg.Web.Hosts, PasswordHash: hash,
			Keep: accessFile(filepath.Join(folder, AccessFile)), Certificate: certificate(cfg.Web, log),
			Snapshot: m.Snapshot, Changed: m.Changed, Entries: m.Entries,
			Door: m, History: kept, Planner: m, Metrics: metrics.Handler(m.Snapshot),
			Doubts: m, Track: m.Track, Past: m, Rehearse: m, Profile: species.Leopard(), Message: message.send,
			Photos: photosIn(folder),
			Log:    log, Zone: zone, Units: cfg.Unit, Press: paper.Printer{},
		})
		if err != nil {
			return err
		}
		if err := pages.Listen(ctx); err != nil {
			return err
		}
		at.Web = pages.Addr()
	}
	var builtIn *broker.Broker
	remotes := cfg.Brokers
	if cfg.Broker.Listen != "" {
		if builtIn, err = broker.New(cfg.Broker.Listen); err != nil {
			return err
		}
		at.Broker = builtIn.Addr()
		remotes = append([]config.Remote{{Name: config.BuiltIn, URL: "mqtt://" + at.Broker.String()}}, remotes...)
	}

	house, ctx := errgroup.WithContext(ctx)
	// The monitor outlives the rest, to write down what they did last.
	last, stopLast := context.WithCancel(context.WithoutCancel(ctx))
	defer stopLast()
	written := make(chan error, 1)
	go func() { written <- m.Run(last) }()
	defer func() {
		stopLast()
		<-written
	}()
	defer func() { // whatever runs when a later start fails
		stop()
		_ = house.Wait()
	}()
	if s.Prepare != nil {
		if err := s.Prepare(ctx, m); err != nil {
			return err
		}
		m.Live()
	}

	if builtIn != nil {
		house.Go(func() error { return builtIn.Run(ctx) })
	}
	clients, err := dialers(ctx, cfg, remotes, m, bank, log)
	if err != nil {
		return err
	}
	posts, err := hooks(cfg, log)
	if err != nil {
		return err
	}
	var publishers []alerts.Publisher
	var testers []alerts.Tester
	for _, c := range clients {
		house.Go(func() error { return c.Run(ctx) })
		publishers, testers = append(publishers, c), append(testers, c)
	}
	for _, p := range posts {
		publishers, testers = append(publishers, p), append(testers, p)
	}
	message.knows(testers)
	house.Go(func() error { return outbox.Run(ctx, publishers...) })
	house.Go(func() error { return mirror(ctx, m, clients) })

	if s.Sampler == nil {
		house.Go(func() error { return Find(ctx, cfg, bank, log) })
		house.Go(func() error { return bank.Run(ctx) })
	}
	if s.Contacts == nil {
		house.Go(func() error { return wires.Run(ctx, board.Push) })
	}
	ctl := &control{
		monitor: m, store: kept, probes: kept.Probes, message: message,
		pages: web.Options{History: kept, Track: m.Track, Zone: zone, Profile: species.Leopard()},
	}
	house.Go(func() error { return ctl.serve(ctx, folder) })
	if pages != nil {
		house.Go(func() error { return pages.Run(ctx) })
	}
	m.Tick(ctx, clock())
	if s.Ready != nil {
		s.Ready(at)
	}
	_, _ = sdnotify.SdNotify(false, sdnotify.SdNotifyReady)
	house.Go(func() error { return beat(ctx, m, clock, cmp.Or(s.Tick, tickEvery)) })
	return house.Wait()
}

// beat ticks until ctx ends and feeds systemd's watchdog after each finished
// tick: not because the process lives, but because it judges.
func beat(ctx context.Context, m *monitor.Monitor, clock func() monitor.Instant, every time.Duration) error {
	t := time.NewTicker(every)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
			m.Tick(ctx, clock())
			_, _ = sdnotify.SdNotify(false, sdnotify.SdNotifyWatchdog)
		}
	}
}

// retold is a bank under a clock that is not the machine's.
type retold struct{ *sensors.Bank }

// Sample gives what the bank heard, as heard at now.
func (r retold) Sample(ctx context.Context, now time.Time) []sensors.Outcome {
	out := r.Bank.Sample(ctx, now)
	for i := range out {
		out[i].Time = now
	}
	return out
}

// retoldBoard is a board under such a clock.
type retoldBoard struct{ *sensors.Board }

// SampleContacts gives what the board heard, as heard at now.
func (r retoldBoard) SampleContacts(ctx context.Context, now time.Time) []sensors.ContactOutcome {
	out := r.Board.SampleContacts(ctx, now)
	for i := range out {
		out[i].Time = now
	}
	return out
}

// mirror hands each new snapshot to the brokers' clients.
func mirror(ctx context.Context, m *monitor.Monitor, clients []*mqtt.Client) error {
	for ctx.Err() == nil {
		changed := m.Changed()
		for _, c := range clients {
			c.State(ctx, m.Snapshot())
		}
		select {
		case <-ctx.Done():
		case <-changed:
		}
	}
	return nil
}

// dialers makes a client for each broker that is told.
func dialers(ctx context.Context, cfg config.Config, remotes []config.Remote, m *monitor.Monitor, bank *sensors.Bank, log *slog.Logger) ([]*mqtt.Client, error) {
	var out []*mqtt.Client
	for _, r := range remotes {
		var devices []mqttin.Device
		for _, d := range cfg.Devices {
			if d.On() == r.Name {
				devices = append(devices, d.In())
				p := d.In().Probe()
				p.Through = "broker " + r.Name
				bank.Announce(p)
			}
		}
		c, err := mqtt.New(mqtt.Broker(r), mqtt.Options{
			Site: cfg.Site, Log: log, Devices: devices, OnOutcome: bank.Push,
			OnCommand: func(change monitor.Change) error {
				_, err := m.Do(ctx, change)
				return err
			},
		})
		if err != nil {
			return nil, fmt.Errorf("broker %s: %w", r.Name, err)
		}
		out = append(out, c)
	}
	return out, nil
}

func passwordHash(folder string) (string, error) {
	text, err := os.ReadFile(filepath.Join(folder, PasswordFile))
	if errors.Is(err, os.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("read the pages' password: %w", err)
	}
	return strings.TrimSpace(string(text)), nil
}
