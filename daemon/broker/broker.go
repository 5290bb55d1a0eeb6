// Package broker is the built-in MQTT broker, for a room that has none, for
// the demo and for tests.
//
// It listens on loopback only, so that whoever reaches it already runs on
// this machine: that is why it asks for no password. It keeps everything in
// memory: a restart forgets retained messages and sessions, and the daemon
// publishes its retained topics anew. A room whose alerts are read on other
// machines wants a broker of its own with passwords and an access list; this
// one cannot be opened to the network.
package broker

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/listeners"
	"github.com/mochi-mqtt/server/v2/packets"
)

// Limits of the built-in broker (judgement): ample for one room, and small
// enough that a program gone wild on the same machine cannot eat its memory.
const (
	MaxClients    = 64
	MaxPacket     = 256 << 10 // bytes
	maxWaiting    = 256       // writes pending for one client
	maxInflight   = 256       // QoS 1 messages waiting for one client
	sessionExpiry = time.Hour // of a client that went away
)

// A Broker listens from New on and serves in Run.
type Broker struct {
	listener net.Listener
	server   *mochi.Server
}

// New listens on addr, host and port, which must be loopback; port 0 takes a
// free one.
func New(addr string) (*Broker, error) {
	if err := loopbackOnly(addr); err != nil {
		return nil, fmt.Errorf("listen on %s: %w", addr, err)
	}
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("listen for MQTT: %w", err)
	}
	limited := newLimitListener(listener, MaxClients)
	server := mochi.New(&mochi.Options{
		// The library tells of every client that goes away, and logs whole
		// packets; its own clients notice what matters.
		Capabilities: capabilities(), Logger: slog.New(slog.DiscardHandler),
		SysTopicResendInterval: 60,
	})
	if err := server.AddHook(new(anyone), nil); err != nil {
		listener.Close()
		return nil, fmt.Errorf("set up the broker: %w", err)
	}
	if err := server.AddListener(listeners.NewNet("loopback", limited)); err != nil {
		listener.Close()
		return nil, fmt.Errorf("set up the broker: %w", err)
	}
	return &Broker{listener: limited, server: server}, nil
}

// Addr is where it listens.
func (b *Broker) Addr() net.Addr { return b.listener.Addr() }

// Run serves until ctx ends, then disconnects everybody. Call it once.
func (b *Broker) Run(ctx context.Context) error {
	if err := b.server.Serve(); err != nil {
		return fmt.Errorf("serve MQTT on %s: %w", b.Addr(), err)
	}
	<-ctx.Done()
	if err := b.server.Close(); err != nil {
		return fmt.Errorf("stop the broker: %w", err)
	}
	return nil
}

func capabilities() *mochi.Capabilities {
	c := mochi.NewDefaultServerCapabilities()
	c.MaximumClients = MaxClients
	c.MaximumPacketSize = MaxPacket
	c.MaximumClientWritesPending = maxWaiting
	c.MaximumInflight = maxInflight
	c.MaximumSessionExpiryInterval = uint32(sessionExpiry / time.Second)
	return c
}

// loopbackOnly refuses an address that others than this machine can reach,
// or that leaves the host open.
func loopbackOnly(addr string) error {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return err
	}
	if host == "" {
		return fmt.Errorf("no host: the built-in broker listens on loopback only, say 127.0.0.1")
	}
	tcp, err := net.ResolveTCPAddr("tcp", addr)
	if err != nil {
		return err
	}
	if !tcp.IP.IsLoopback() {
		return fmt.Errorf("%s is not loopback: the built-in broker has no passwords", host)
	}
	return nil
}

// anyone lets every client in and do everything: they are on this machine.
type anyone struct{ mochi.HookBase }

func (*anyone) ID() string { return "anyone-on-loopback" }

func (*anyone) Provides(b byte) bool {
	return bytes.IndexByte([]byte{mochi.OnConnectAuthenticate, mochi.OnACLCheck}, b) >= 0
}

func (*anyone) OnConnectAuthenticate(*mochi.Client, packets.Packet) bool { return true }

func (*anyone) OnACLCheck(*mochi.Client, string, bool) bool { return true }
