package secure_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/secure"
)

// made gives a self-signed certificate for 127.0.0.1 and its key, as PEM.
func made(t *testing.T, name string, from, until time.Time) (cert, key []byte) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(from.UnixNano()), Subject: pkix.Name{CommonName: name},
		NotBefore: from, NotAfter: until, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, private.Public(), private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}),
		pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret})
}

func put(t *testing.T, path string, text []byte, mode os.FileMode) {
	t.Helper()
	// As renewals do it: another file under the old name.
	if err := os.WriteFile(path+".new", text, mode); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		t.Fatal(err)
	}
}

// meet gives the name on the certificate that a client is shown, on a
// connection of its own.
func meet(t *testing.T, address string, trust []byte) (string, error) {
	t.Helper()
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(trust)
	conn, err := tls.Dial("tcp", address, &tls.Config{RootCAs: pool})
	if err != nil {
		return "", err
	}
	defer conn.Close()
	return conn.ConnectionState().PeerCertificates[0].Subject.CommonName, nil
}

func TestServedFollowsItsFiles(t *testing.T) {
	dir, now := t.TempDir(), time.Now()
	cert, key := filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	var told []string
	served := secure.NewServed(cert, key, func(err error) {
		if err == nil {
			told = append(told, "well")
			return
		}
		told = append(told, err.Error())
	})
	first, firstKey := made(t, "first", now.Add(-time.Hour), now.Add(time.Hour))
	second, secondKey := made(t, "second", now.Add(-time.Minute), now.Add(time.Hour))
	listener, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: served.Get})
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	go func() {
		for {
			c, err := listener.Accept()
			if err != nil {
				return
			}
			go func() {
				_ = c.(*tls.Conn).Handshake()
				_, _ = io.Copy(io.Discard, c)
				c.Close()
			}()
		}
	}()
	address := listener.Addr().String()

	steps := []struct {
		sentence string
		do       func()
		trust    []byte
		name     string // "": no connection
	}{
		{"without files nobody is let in, and the program runs", func() {}, first, ""},
		{"once they are there they are served", func() { put(t, cert, first, 0o600); put(t, key, firstKey, 0o600) }, first, "first"},
		{"in the middle of a renewal the old pair is", func() { put(t, cert, second, 0o600) }, first, "first"},
		{"then the new one, without a restart", func() { put(t, key, secondKey, 0o600) }, second, "second"},
		{"whom it does not know a client turns down", func() {}, first, ""},
		{"when the files are gone the last pair is served on", func() { os.Remove(cert) }, second, "second"},
	}
	for _, s := range steps {
		s.do()
		name, err := meet(t, address, s.trust)
		if name != s.name || (err == nil) != (s.name != "") {
			t.Errorf("%s: met %q, %v", s.sentence, name, err)
		}
	}
	if len(told) != 5 || !strings.Contains(told[0], "no such file") || told[1] != "well" ||
		!strings.Contains(told[2], "private key does not match") || told[3] != "well" {
		t.Errorf("told were %q", told)
	}
}

func TestCheckServed(t *testing.T) {
	dir, now := t.TempDir(), time.Date(2026, 6, 14, 12, 0, 0, 0, time.UTC)
	cert, key := made(t, "pi", now.AddDate(0, -1, 0), now.AddDate(0, 1, 0))
	_, other := made(t, "other", now, now.AddDate(0, 1, 0))
	file := func(name string, text []byte, mode os.FileMode) string {
		path := filepath.Join(dir, name)
		put(t, path, text, mode)
		if err := os.Chmod(path, mode); err != nil {
			t.Fatal(err)
		}
		return path
	}
	good, secret := file("cert", cert, 0o644), file("key", key, 0o640)
	for _, c := range []struct {
		sentence, cert, key string
		at                  time.Time
		says                string
	}{
		{"a pair that fits, the key for a group", good, secret, now, ""},
		{"a file that is not there", filepath.Join(dir, "none"), secret, now, "no such file"},
		{"a file that holds nothing of the kind", file("text", []byte("hello"), 0o600), secret, now, "read cert_file"},
		{"another certificate's key", good, file("other", other, 0o600), now, "does not match"},
		{"a certificate that has ended", good, secret, now.AddDate(0, 2, 0), "ended on 2026-07-14"},
		{"one that has not begun", good, secret, now.AddDate(0, -2, 0), "begins on 2026-05-14"},
		{"a key that everyone can read", good, file("loose", key, 0o644), now, "everyone on this machine can read the key"},
	} {
		err := secure.CheckServed(c.cert, c.key, c.at)
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.sentence, err)
		}
	}
}
