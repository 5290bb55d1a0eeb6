// Package secure opens TLS connections from files of certificates, and says in
// one sentence why a connection did not come about.
//
// It keeps nothing and retries nothing. Files are PEM and are read at each
// call, so that a renewed certificate or secret needs no restart.
package secure

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"syscall"
	"time"
)

// Files name the certificates of a connection; all may be empty.
type Files struct {
	CA   string // whom to believe; "": those that the system believes
	Cert string // of a client certificate; with Key
	Key  string
}

// Config reads the files. host is whom the far side's certificate must be for.
func (f Files) Config(host string) (*tls.Config, error) {
	config := &tls.Config{MinVersion: tls.VersionTLS12, ServerName: host}
	if f.CA != "" {
		text, err := os.ReadFile(f.CA)
		if err != nil {
			return nil, fmt.Errorf("read ca_file: %w", err)
		}
		config.RootCAs = x509.NewCertPool()
		if !config.RootCAs.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("read ca_file %s: no certificate in it", f.CA)
		}
	}
	if f.Cert != "" {
		pair, err := tls.LoadX509KeyPair(f.Cert, f.Key)
		if err != nil {
			return nil, fmt.Errorf("read cert_file and key_file: %w", err)
		}
		config.Certificates = []tls.Certificate{pair}
	}
	return config, nil
}

// Shake speaks TLS over a connection, which it closes on an error.
func (f Files) Shake(ctx context.Context, conn net.Conn, host string) (net.Conn, error) {
	config, err := f.Config(host)
	if err != nil {
		conn.Close()
		return nil, err
	}
	secured := tls.Client(conn, config)
	if err := secured.HandshakeContext(ctx); err != nil {
		conn.Close()
		if broken(err) {
			return nil, errBrokenOff
		}
		return nil, err
	}
	return secured, nil
}

var errBrokenOff = errors.New("the far side breaks off the TLS handshake: perhaps no TLS is spoken there")

// broken reports whether a connection was ended from afar without a word.
func broken(err error) bool {
	return errors.Is(err, io.EOF) || errors.Is(err, syscall.ECONNRESET) || errors.Is(err, syscall.EPIPE)
}

// verdictWithin is how long a far side may take to turn a certificate down.
const verdictWithin = 3 * time.Second

// Verdict gives a better reason than a connection that was broken while we
// spoke, if there is one. In TLS 1.3 a client's certificate is turned down only
// after the handshake, and what we write meanwhile may make the word about it
// be lost. So another connection is opened, over which nothing is said. err
// comes back where that tells nothing.
func Verdict(ctx context.Context, err error, dial func(context.Context) (net.Conn, error)) error {
	if !broken(err) || ctx.Err() != nil {
		return err
	}
	conn, failed := dial(ctx)
	if failed != nil {
		return failed
	}
	defer conn.Close()
	if conn.SetReadDeadline(time.Now().Add(verdictWithin)) != nil {
		return err
	}
	if _, said := conn.Read(make([]byte, 1)); ourCertificate(said) != "" {
		return said
	}
	return err
}

// Secret gives the first line of a file, "" for no file. An empty line is an
// error: whoever named a file wants what is in it sent.
func Secret(file string) (string, error) {
	if file == "" {
		return "", nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(string(text), "\n")
	if line = strings.TrimSuffix(line, "\r"); line == "" {
		return "", fmt.Errorf("%s: its first line is empty", file)
	}
	return line, nil
}
