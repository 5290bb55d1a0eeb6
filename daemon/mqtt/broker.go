package mqtt

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"strings"
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
	_, secure, err := b.address()
	if err != nil {
		errs = append(errs, err)
	}
	if !secure && err == nil && b.CAFile+b.CertFile+b.KeyFile != "" {
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
func (b Broker) address() (hostPort string, secure bool, err error) {
	u, err := url.Parse(b.URL)
	if err != nil {
		return "", false, fmt.Errorf("broker address: %w", errors.Unwrap(err))
	}
	port := u.Port()
	switch u.Scheme {
	case "mqtt", "tcp":
		port = orElse(port, "1883")
	case "mqtts", "ssl", "tls":
		port, secure = orElse(port, "8883"), true
	default:
		return "", false, fmt.Errorf("broker address: scheme %q: need mqtt or mqtts", u.Scheme)
	}
	if u.User != nil {
		return "", false, errors.New("broker address: user and password belong in keys of their own")
	}
	if u.Hostname() == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		return "", false, errors.New("broker address: need mqtt://host:port and nothing more")
	}
	return net.JoinHostPort(u.Hostname(), port), secure, nil
}

// inClear reports whether a password would cross a network unencrypted.
func (b Broker) inClear() bool {
	hostPort, secure, err := b.address()
	if err != nil || secure || b.PasswordFile == "" {
		return false
	}
	host, _, _ := net.SplitHostPort(hostPort)
	ip := net.ParseIP(host)
	return host != "localhost" && (ip == nil || !ip.IsLoopback())
}

// password reads the password file's first line.
func (b Broker) password() (string, error) {
	if b.PasswordFile == "" {
		return "", nil
	}
	text, err := os.ReadFile(b.PasswordFile)
	if err != nil {
		return "", fmt.Errorf("read the broker's password: %w", err)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	return strings.TrimSuffix(line, "\r"), nil
}

// dial opens the network connection, TLS included.
func (b Broker) dial(ctx context.Context) (net.Conn, error) {
	hostPort, secure, err := b.address()
	if err != nil {
		return nil, err
	}
	if !secure {
		return new(net.Dialer).DialContext(ctx, "tcp", hostPort)
	}
	config, err := b.tls()
	if err != nil {
		return nil, err
	}
	return (&tls.Dialer{Config: config}).DialContext(ctx, "tcp", hostPort)
}

func (b Broker) tls() (*tls.Config, error) {
	config := &tls.Config{MinVersion: tls.VersionTLS12}
	if b.CAFile != "" {
		pem, err := os.ReadFile(b.CAFile)
		if err != nil {
			return nil, fmt.Errorf("read the broker's CA: %w", err)
		}
		config.RootCAs = x509.NewCertPool()
		if !config.RootCAs.AppendCertsFromPEM(pem) {
			return nil, fmt.Errorf("read the broker's CA %s: no certificate in it", b.CAFile)
		}
	}
	if b.CertFile != "" {
		pair, err := tls.LoadX509KeyPair(b.CertFile, b.KeyFile)
		if err != nil {
			return nil, fmt.Errorf("read the client certificate: %w", err)
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}
