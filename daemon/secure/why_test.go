package secure_test

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"clutchd/daemon/secure"
)

// What TLS itself says is held against a real broker in daemon/mqtt.
func TestWhy(t *testing.T) {
	dial := func(err error) error { return fmt.Errorf("post: %w", &net.OpError{Op: "dial", Err: err}) }
	tests := []struct {
		sentence string
		err      error
		want     string
	}{
		{"nothing is wrong", nil, ""},
		{
			"a name that nobody knows", dial(&net.DNSError{Name: "push.example", IsNotFound: true}),
			"no address is known for the name push.example",
		},
		{
			"a name server that is silent", dial(&net.DNSError{Name: "push.example", IsTimeout: true}),
			"the name server does not answer about push.example",
		},
		{
			"no network, so no name server", dial(&net.DNSError{Name: "push.example", Err: "no route"}),
			"the name push.example cannot be looked up now",
		},
		{"a closed port", dial(syscall.ECONNREFUSED), "nobody listens at that address and port"},
		{"no network", dial(syscall.ENETUNREACH), "this machine has no way to that network"},
		{"a machine that is off", dial(syscall.EHOSTUNREACH), "that machine cannot be reached from here"},
		{"a broken connection", dial(syscall.ECONNRESET), "the connection was broken by the far side"},
		{"no answer", dial(context.DeadlineExceeded), "no answer in time"},
		{"an alert of TLS that is none of the certificate's", &net.OpError{
			Op: "remote error", Err: errors.New("tls: internal error"),
		}, "it breaks off TLS: internal error"},
		{"a certificate that is bad for another reason", &tls.CertificateVerificationError{
			Err: errors.New("too many names"),
		}, "its certificate is not good: too many names"},
		{"what it does not know", errors.New("odd"), "odd"},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			if got := secure.Why(tt.err); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestSecret(t *testing.T) {
	tests := []struct {
		sentence, text, want string
		fails                bool
	}{
		{"a line", "open\n", "open", false},
		{"no line end", "open", "open", false},
		{"lines as other systems end them", "open\r\nmore\r\n", "open", false},
		{"a space is part of it", " open \n", " open ", false},
		{"an empty file", "", "", true},
		{"an empty first line", "\nopen\n", "", true},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "secret")
			if err := os.WriteFile(file, []byte(tt.text), 0o600); err != nil {
				t.Fatal(err)
			}
			if got, err := secure.Secret(file); got != tt.want || (err != nil) != tt.fails {
				t.Errorf("got %q, %v, want %q, an error: %v", got, err, tt.want, tt.fails)
			}
		})
	}
	if got, err := secure.Secret(""); got != "" || err != nil {
		t.Errorf("no file: %q, %v, want none of either", got, err)
	}
}
