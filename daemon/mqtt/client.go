// Package mqtt speaks with MQTT brokers, in and out: it delivers notices,
// mirrors the room into retained topics, hears devices and takes commands.
//
// It decides nothing: what to tell comes from the monitor and the outbox,
// what a device's payload means from package mqttin, and a command goes
// through the monitor's door. MQTT 3.1.1; payloads are JSON, described in
// schema/. Temperatures are °C, humidity a ratio 0 to 1, times UTC.
package mqtt

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

// Options are what a Client serves, besides its broker.
type Options struct {
	Site string // the topic level that tells rooms on one broker apart
	Host string // tells machines of one site apart; "": the machine's name
	Log  *slog.Logger
	// Devices are heard on this broker, each outcome handed to OnOutcome, one
	// at a time.
	Devices   []mqttin.Device
	OnOutcome func(sensors.Outcome)
	// OnCommand takes what others ask for, one at a time; nil: no commands
	// are heard. It must not outlive the daemon.
	OnCommand func(monitor.Change) error
	// Dial opens the network connection; nil: as the broker's URL says.
	Dial func(context.Context) (net.Conn, error)
}

// A Client keeps up to two connections with one broker: one that speaks, and
// carries the last will, and one that listens, if there is anything to hear.
// What comes in can so never hold up or break what must go out.
type Client struct {
	broker  Broker
	opt     Options
	site    site
	log     *slog.Logger
	devices map[string][]mqttin.Device // by topic

	newest   atomic.Pointer[handed]
	wake     chan struct{} // a snapshot was handed over, or a leftover found
	wanted   chan struct{} // a notice waits for a connection
	rejoin   chan struct{} // the speaking connection is up: try the other one
	overdue  atomic.Bool   // it has waited since the last one was confirmed
	heard    chan message  // from devices
	asked    chan message  // commands
	overflow atomic.Uint64 // messages dropped, because too many came at once

	mu   sync.Mutex
	link *link
	up   chan struct{} // closed when link is set
}

// handed is a snapshot and when it came.
type handed struct {
	snapshot *monitor.Snapshot
	at       time.Time
}

var (
	_ alerts.Publisher = (*Client)(nil)
	_ alerts.Connector = (*Client)(nil)
)

// ErrOffline says that there is no connection with the broker.
var ErrOffline = fmt.Errorf("%w with the broker", alerts.ErrUnreachable)

// burst is how many messages of each device wait while the machine is busy with
// something else.
const burst = 4

// New makes a client; Run connects it.
func New(b Broker, o Options) (*Client, error) {
	errs := []error{b.Validate()}
	if err := checkLevel(o.Site); err != nil {
		errs = append(errs, fmt.Errorf("site: %w", err))
	}
	c := &Client{
		broker: b, opt: o, site: site(o.Site), log: o.Log, devices: map[string][]mqttin.Device{},
		wake: make(chan struct{}, 1), wanted: make(chan struct{}, 1), rejoin: make(chan struct{}, 1),
		heard: make(chan message, max(256, burst*len(o.Devices))), asked: make(chan message, 16), up: make(chan struct{}),
	}
	for _, d := range o.Devices {
		if err := d.Validate(); err != nil {
			errs = append(errs, fmt.Errorf("probe %s: %w", d.ProbeID, err))
		}
		c.devices[d.Topic] = append(c.devices[d.Topic], d)
	}
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("broker %s: %w", b.Name, err)
	}
	c.complete()
	return c, nil
}

// complete fills in what the options left out.
func (c *Client) complete() {
	if c.log == nil {
		c.log = slog.New(slog.DiscardHandler)
	}
	c.log = c.log.With("broker", c.broker.Name)
	if c.opt.Host == "" {
		c.opt.Host, _ = os.Hostname()
	}
	if c.opt.Dial == nil {
		c.opt.Dial = c.broker.dial
	}
}

// Run keeps the connections until ctx ends, then says that it is offline.
func (c *Client) Run(ctx context.Context) error {
	if c.broker.inClear() {
		c.log.Warn("the broker's password crosses the network unencrypted: use mqtts://")
	}
	var tasks sync.WaitGroup
	speaking := line{doing: "speaking", session: c.speak, hurry: c.wanted, overdue: c.overdue.Load, log: c.log}
	tasks.Go(func() { speaking.keep(ctx) })
	if len(c.devices) > 0 || c.opt.OnCommand != nil {
		listening := line{doing: "listening", session: c.listen, hurry: c.rejoin, log: c.log}
		tasks.Go(func() { listening.keep(ctx) })
		tasks.Go(func() { c.handle(ctx, c.heard, c.device) })
		tasks.Go(func() { c.handle(ctx, c.asked, c.command) })
	}
	tasks.Wait()
	return nil
}

// State hands over the newest snapshot, which is mirrored as soon as the
// broker allows. It never blocks; only the newest one counts. Snapshots are
// also the sign of life that heartbeats are sent for.
func (c *Client) State(ctx context.Context, s *monitor.Snapshot) {
	if ctx.Err() != nil || s == nil || s.Tick == 0 {
		return
	}
	c.newest.Store(&handed{s, time.Now()})
	c.stir()
}

func (c *Client) stir() { signal(c.wake) }

// plan gives what both connections have in common. The broker ends an older
// connection of the same client id, so purposes must differ.
func (c *Client) plan(purpose string) linkPlan {
	return linkPlan{
		broker: c.broker, dial: c.opt.Dial,
		id: "clutchd-" + c.opt.Site + "-" + c.opt.Host + "-" + purpose,
	}
}

func signal(ch chan struct{}) {
	select {
	case ch <- struct{}{}:
	default:
	}
}
