package mqtt_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"net"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/hooks/auth"
	"github.com/mochi-mqtt/server/v2/packets"

	"clutchd/daemon/mqtt"
)

// A hub is a broker inside a synctest bubble: clients reach it over pipes, so
// that time is virtual. It can be down, and its connections can be cut.
type hub struct {
	t *testing.T

	mu     sync.Mutex
	server *mochi.Server // nil: down
	conns  []net.Conn
	heard  []heard
	eat    func(packet byte) bool // packets from the broker to lose, by type; may be nil
}

// heard is a message that a listener on everything got.
type heard struct {
	topic, payload string
}

func newHub(t *testing.T) *hub {
	h := &hub{t: t}
	h.start()
	t.Cleanup(h.stop)
	return h
}

func (h *hub) start() {
	h.t.Helper()
	server := mochi.New(&mochi.Options{
		InlineClient: true, Logger: slog.New(slog.DiscardHandler), SysTopicResendInterval: 3600,
	})
	if err := server.AddHook(new(auth.AllowHook), nil); err != nil {
		h.t.Fatal(err)
	}
	if err := server.Serve(); err != nil {
		h.t.Fatal(err)
	}
	note := func(_ *mochi.Client, _ packets.Subscription, pk packets.Packet) {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.heard = append(h.heard, heard{pk.TopicName, string(pk.Payload)})
	}
	if err := server.Subscribe("#", 1, note); err != nil {
		h.t.Fatal(err)
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.server = server
}

// stop ends the broker, and with it all that it kept.
func (h *hub) stop() {
	h.mu.Lock()
	server := h.server
	h.server = nil
	h.mu.Unlock()
	h.cut()
	if server != nil {
		server.Close()
	}
}

// cut breaks every connection, as a pulled cable does.
func (h *hub) cut() {
	h.mu.Lock()
	conns := h.conns
	h.conns = nil
	h.mu.Unlock()
	for _, c := range conns {
		c.Close()
	}
}

func (h *hub) dial(context.Context) (net.Conn, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.server == nil {
		return nil, errors.New("connection refused")
	}
	client, near := net.Pipe()
	far, server := net.Pipe()
	h.conns = append(h.conns, client, near, far, server)
	go relay(near, far, func(packet byte) bool {
		h.mu.Lock()
		defer h.mu.Unlock()
		return h.eat != nil && h.eat(packet)
	})
	broker := h.server
	go broker.EstablishConnection("pipe", server)
	return client, nil
}

// lose sets which packets from the broker never arrive.
func (h *hub) lose(eat func(packet byte) bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.eat = eat
}

// take gives what was heard since it was last called, the broker's own
// chatter left out.
func (h *hub) take() []heard {
	synctest.Wait()
	h.mu.Lock()
	defer h.mu.Unlock()
	got := h.heard
	h.heard = nil
	return slices.DeleteFunc(got, func(m heard) bool { return strings.HasPrefix(m.topic, "$SYS") })
}

// retained gives what the broker keeps, by topic.
func (h *hub) retained() map[string]string {
	synctest.Wait()
	kept := map[string]string{}
	for _, pk := range h.server.Topics.Messages("#") {
		if !strings.HasPrefix(pk.TopicName, "$SYS") {
			kept[pk.TopicName] = string(pk.Payload)
		}
	}
	return kept
}

func (h *hub) publish(topic, payload string, retain bool) {
	h.t.Helper()
	if err := h.server.Publish(topic, []byte(payload), retain, 1); err != nil {
		h.t.Fatal(err)
	}
	synctest.Wait()
}

// connect runs a client of the hub until the test ends, or stop is called.
func (h *hub) connect(o mqtt.Options) (c *mqtt.Client, stop func()) {
	h.t.Helper()
	o.Site, o.Host = "cellar", "pi"
	if o.Dial == nil {
		o.Dial = h.dial
	}
	c, err := mqtt.New(mqtt.Broker{Name: "hub", URL: "mqtt://hub.example"}, o)
	if err != nil {
		h.t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(h.t.Context())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			h.t.Error(err)
		}
	})
	h.t.Cleanup(stop)
	synctest.Wait()
	return c, stop
}

// text writes messages by topic, in order, for comparing.
func text(kept map[string]string) string {
	var b bytes.Buffer
	for _, topic := range slices.Sorted(maps.Keys(kept)) {
		fmt.Fprintf(&b, "%s %s\n", topic, kept[topic])
	}
	return b.String()
}
