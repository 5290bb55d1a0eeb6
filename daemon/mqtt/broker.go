package mqtt

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strings"

	"clutchd/daemon/secure"
)

// A Broker says how one broker is reached. Files are read at each connection,
// so that a renewed certificate or password needs no restart.
type Broker struct {
	Name string // for logs and the outbox; stable, as cursors are kept by it
	// URL is mqtt://host[:port] or mqtts://host[:port] for TLS; ports 1883 and
	// 8883 if it says none.
	URL          string
	User         string // "": anonymous
	PasswordFile string // its first line; secrets are never in the config
	CAFile       string // PEM; "": the system's
	CertFile     string // PEM, of a client certificate; with KeyFile
	KeyFile      string
}

// Validate gives every reason why the broker could never be reached.
func (b Broker) Validate() error {
	var errs []error
	if err := checkLevel(b.Name); err != nil {
		errs = append(errs, fmt.Errorf("name: %w", err))
	}
	_, encrypted, err := b.address()
	if err != nil {
		errs = append(errs, err)
	}
	if !encrypted && err == nil && b.CAFile+b.CertFile+b.KeyFile != "" {
		errs = append(errs, errors.New("certificate files need an mqtts:// address"))
	}
	if (b.CertFile == "") != (b.KeyFile == "") {
		errs = append(errs, errors.New("a client certificate needs both its file and its key's"))
	}
	if b.PasswordFile != "" && b.User == "" {
		errs = append(errs, errors.New("a password needs a user"))
	}
	return errors.Join(errs...)
}

// address gives host and port, and whether TLS is spoken there.
func (b Broker) address() (hostPort string, encrypted bool, err error) {
	u, err := url.Parse(b.URL)
	if err != nil {
		return "", false, fmt.Errorf("broker address: %w", errors.Unwrap(err))
	}
	port := u.Port()
	switch u.Scheme {
	case "mqtt", "tcp":
		port = orElse(port, "1883")
	case "mqtts", "ssl", "tls":
		port, encrypted = orElse(port, "8883"), true
	default:
		return "", false, fmt.Errorf("broker address: scheme %q: need mqtt or mqtts", u.Scheme)
	}
	if u.User != nil {
		return "", false, errors.New("broker address: user and password belong in keys of their own")
	}
	if u.Hostname() == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		return "", false, errors.New("broker address: need mqtt://host:port and nothing more")
	}
	return net.JoinHostPort(u.Hostname(), port), encrypted, nil
}

// inClear reports whether a password would cross a network unencrypted.
func (b Broker) inClear() bool {
	hostPort, encrypted, err := b.address()
	if err != nil || encrypted || b.PasswordFile == "" {
		return false
	}
	host, _, _ := net.SplitHostPort(hostPort)
	ip := net.ParseIP(host)
	return host != "localhost" && (ip == nil || !ip.IsLoopback())
}

// password reads the password file's first line.
func (b Broker) password() (string, error) {
	text, err := secure.Secret(b.PasswordFile)
	if err != nil {
		return "", fmt.Errorf("read the broker's password: %w", err)
	}
	return text, nil
}

// dial opens the network connection, TLS included.
func (b Broker) dial(ctx context.Context) (net.Conn, error) {
	hostPort, encrypted, err := b.address()
	if err != nil {
		return nil, err
	}
	conn, err := new(net.Dialer).DialContext(ctx, "tcp", hostPort)
	if err != nil || !encrypted {
		return conn, err
	}
	host, _, _ := net.SplitHostPort(hostPort)
	return b.files().Shake(ctx, conn, host)
}

func (b Broker) files() secure.Files {
	return secure.Files{CA: b.CAFile, Cert: b.CertFile, Key: b.KeyFile}
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
