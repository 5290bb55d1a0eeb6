package days_test

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
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/config"
)

// certify puts a new self-signed certificate under the names of the old one,
// and gives a pool that trusts it alone.
func certify(t *testing.T, cert, key, name string) *x509.CertPool {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: name},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true,
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
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	for path, block := range map[string][]byte{
		cert: text, key: pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: secret}),
	} {
		if err := os.WriteFile(path+".new", block, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(path+".new", path); err != nil {
			t.Fatal(err)
		}
	}
	pool := x509.NewCertPool()
	pool.AppendCertsFromPEM(text)
	return pool
}

// A client of the house speaks TLS and keeps cookies; each has connections of
// its own.
func client(t *testing.T, trust *x509.CertPool) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	way := &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trust}, ForceAttemptHTTP2: true}
	t.Cleanup(way.CloseIdleConnections)
	return &http.Client{Jar: jar, Transport: way, Timeout: 20 * time.Second}
}

// The whole daemon over TLS, with a certificate that is renewed while it runs.
func TestTLS(t *testing.T) {
	dir := t.TempDir()
	cert, key := filepath.Join(dir, "pi.pem"), filepath.Join(dir, "pi.key")
	first := certify(t, cert, key, "first")
	s := story{world: newWorld(map[string]float64{"w1-28-00a1": 24}), locked: true, change: func(c *config.Config) {
		c.Web.CertFile, c.Web.KeyFile = cert, key
	}}
	h := begin(t, s)
	c := client(t, first)
	get := func(c *http.Client, at string) (string, *http.Response) {
		t.Helper()
		r, err := c.Get(h.url + at)
		if err != nil {
			return err.Error(), nil
		}
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		if err != nil {
			t.Fatal(err)
		}
		return string(text), r
	}
	text, r := get(c, "/login")
	if r == nil {
		t.Fatal(text)
	}
	if r.ProtoMajor != 2 || r.TLS.Version < tls.VersionTLS12 || !strings.HasPrefix(r.Header.Get("Strict-Transport-Security"), "max-age=") {
		t.Errorf("spoken is %s over TLS %x, with %v", r.Proto, r.TLS.Version, r.Header)
	}
	at, err := url.Parse(h.url)
	if err != nil {
		t.Fatal(err)
	}
	shown, err := c.PostForm(h.url+"/login", url.Values{"password": {password}})
	if err != nil {
		t.Fatal(err)
	}
	shown.Body.Close()
	var session *http.Cookie
	for _, k := range c.Jar.Cookies(at) {
		session = k
	}
	if session == nil || session.Name != "__Host-clutchd_session" {
		t.Fatalf("the session's cookie is %v", session)
	}
	if set := shown.Request.Response.Header.Get("Set-Cookie"); !strings.Contains(set, "; Secure") || !strings.Contains(set, "; HttpOnly") {
		t.Errorf("it is set by %q", set)
	}
	if text, r := get(c, "/api/room"); r == nil || r.StatusCode != http.StatusOK {
		t.Errorf("the session opens nothing: %s", text)
	}

	old := &tls.Config{RootCAs: first, MaxVersion: tls.VersionTLS11, MinVersion: tls.VersionTLS10}
	if conn, err := tls.Dial("tcp", at.Host, old); err == nil {
		conn.Close()
		t.Error("TLS 1.1 is spoken")
	}
	plain, err := http.Get("http://" + at.Host + "/")
	if err != nil {
		t.Fatal(err)
	}
	plain.Body.Close()
	if plain.StatusCode != http.StatusBadRequest || plain.Header.Get("Set-Cookie") != "" {
		t.Errorf("plain HTTP is answered %s", plain.Status)
	}

	second := certify(t, cert, key, "second")
	if text, r := get(client(t, first), "/login"); r != nil {
		t.Errorf("a new connection is still shown the old certificate: %.80s", text)
	}
	text, r = get(client(t, second), "/login")
	if r == nil || r.TLS.PeerCertificates[0].Subject.CommonName != "second" {
		t.Errorf("the renewed certificate is not served: %.80s", text)
	}
	if text, r := get(c, "/api/room"); r == nil || r.StatusCode != http.StatusOK {
		t.Errorf("a renewal ended a session: %s", text)
	}
}
