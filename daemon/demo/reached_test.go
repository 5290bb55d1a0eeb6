package demo

import (
	"net"
	"testing"

	"clutchd/daemon"
)

func TestReached(t *testing.T) {
	at := func(port int) net.Addr { return &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: port} }
	for _, row := range []struct {
		sentence string
		at       daemon.Addresses
		want     string
	}{
		{
			"pages and broker",
			daemon.Addresses{Web: at(8080), Broker: at(1883)},
			"the invented room: http://127.0.0.1:8080/  messages: mosquitto_sub -p 1883 -v -t 'clutchd/#'",
		},
		{"no broker", daemon.Addresses{Web: at(8080)}, "the invented room: http://127.0.0.1:8080/"},
		{
			"no pages",
			daemon.Addresses{Broker: at(1883)},
			"the invented room: without pages  messages: mosquitto_sub -p 1883 -v -t 'clutchd/#'",
		},
		{"neither", daemon.Addresses{}, "the invented room: without pages"},
	} {
		if got := reached(row.at); got != row.want {
			t.Errorf("%s: %q, want %q", row.sentence, got, row.want)
		}
	}
}
