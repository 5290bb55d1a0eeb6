package broker_test

import (
	"context"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/broker"
)

func TestNewRefusesTheNetwork(t *testing.T) {
	tests := []struct {
		sentence, addr, want string
	}{
		{"all interfaces by leaving the host out", ":1883", "loopback only"},
		{"all IPv4 interfaces", "0.0.0.0:1883", "not loopback"},
		{"all IPv6 interfaces", "[::]:1883", "not loopback"},
		{"another machine's network", "192.0.2.7:1883", "not loopback"},
		{"no port", "127.0.0.1", "missing port"},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			b, err := broker.New(tt.addr)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want something about %q", err, tt.want)
			}
			if b != nil {
				t.Error("a refused address gave a broker")
			}
		})
	}
}

// start runs a broker and returns its address; the test waits for its end.
func start(t *testing.T) string {
	t.Helper()
	b, err := broker.New("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- b.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	return b.Addr().String()
}

func dial(t *testing.T, addr string) net.Conn {
	t.Helper()
	conn, err := net.Dial("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	if err := conn.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	return conn
}

// connect sends an MQTT 3.1.1 CONNECT of a clean session with an empty client
// id and no keep-alive, and reports whether it was accepted.
func connect(conn net.Conn) bool {
	hello := []byte{0x10, 12, 0, 4, 'M', 'Q', 'T', 'T', 4, 2, 0, 0, 0, 0}
	if _, err := conn.Write(hello); err != nil {
		return false
	}
	answer := make([]byte, 4)
	_, err := io.ReadFull(conn, answer)
	return err == nil && answer[0] == 0x20 && answer[3] == 0
}

func TestLimitsClients(t *testing.T) {
	addr := start(t)
	silent := dial(t, addr)
	for i := range broker.MaxClients - 1 {
		if !connect(dial(t, addr)) {
			t.Fatalf("client %d of %d was refused", i+1, broker.MaxClients-1)
		}
	}
	if connect(dial(t, addr)) {
		t.Fatal("a client over the limit was accepted: silent connections must count")
	}
	silent.Close()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); {
		if connect(dial(t, addr)) {
			return
		}
	}
	t.Fatal("a place that was given back was not given out again")
}

func TestLimitsPackets(t *testing.T) {
	conn := dial(t, start(t))
	if !connect(conn) {
		t.Fatal("not accepted")
	}
	// A PUBLISH that says it is 1 MiB long: 0x100000 as a variable length.
	if _, err := conn.Write([]byte{0x30, 0x80, 0x80, 0x40}); err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Read(make([]byte, 1)); err != io.EOF && !isReset(err) {
		t.Errorf("got %v, want the connection closed", err)
	}
}

func isReset(err error) bool { return err != nil && strings.Contains(err.Error(), "reset by peer") }

func TestStopsWithSilentConnections(t *testing.T) {
	b, err := broker.New("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- b.Run(ctx) }()
	greeted, silent := dial(t, b.Addr().String()), dial(t, b.Addr().String())
	if !connect(greeted) {
		t.Fatal("not accepted")
	}
	cancel()
	if err := <-done; err != nil {
		t.Fatal(err)
	}
	if _, err := silent.Read(make([]byte, 1)); err != io.EOF && !isReset(err) {
		t.Errorf("got %v, want the silent connection closed", err)
	}
}
