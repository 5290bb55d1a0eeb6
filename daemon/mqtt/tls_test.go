package mqtt_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"log/slog"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"clutchd/daemon/mqtt"
)

// An authority signs certificates and keeps them in a folder.
type authority struct {
	t    *testing.T
	dir  string
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newAuthority(t *testing.T) *authority {
	t.Helper()
	a := &authority{t: t, dir: t.TempDir()}
	template := &x509.Certificate{
		Subject: pkix.Name{CommonName: "an authority"}, NotBefore: time.Now().Add(-time.Hour),
		NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign | x509.KeyUsageDigitalSignature,
	}
	a.cert, a.key = a.make("ca", template, nil, nil)
	return a
}

func (a *authority) path(name string) string { return filepath.Join(a.dir, name) }

func (a *authority) ca() string { return a.path("ca.pem") }

// sign makes a certificate for a host, valid until a time, and gives its files.
func (a *authority) sign(name, host string, until time.Time) (cert, key string) {
	a.t.Helper()
	template := &x509.Certificate{
		Subject: pkix.Name{CommonName: name}, NotBefore: time.Now().Add(-48 * time.Hour),
		NotAfter: until, KeyUsage: x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth},
	}
	if ip := net.ParseIP(host); ip != nil {
		template.IPAddresses = []net.IP{ip}
	} else {
		template.DNSNames = []string{host}
	}
	a.make(name, template, a.cert, a.key)
	return a.path(name + ".pem"), a.path(name + ".key")
}

func (a *authority) make(name string, template, parent *x509.Certificate, by *ecdsa.PrivateKey) (*x509.Certificate, *ecdsa.PrivateKey) {
	a.t.Helper()
	must := func(err error) {
		if err != nil {
			a.t.Fatal(err)
		}
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(err)
	if parent == nil {
		parent, by = template, key
	}
	template.SerialNumber = big.NewInt(time.Now().UnixNano())
	der, err := x509.CreateCertificate(rand.Reader, template, parent, &key.PublicKey, by)
	must(err)
	private, err := x509.MarshalPKCS8PrivateKey(key)
	must(err)
	must(os.WriteFile(a.path(name+".pem"), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600))
	must(os.WriteFile(a.path(name+".key"), pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private}), 0o600))
	cert, err := x509.ParseCertificate(der)
	must(err)
	return cert, key
}

// speaks are the lines of a broker that shows a certificate and wants one.
func speaks(cert, key, clients string) []string {
	return []string{"certfile " + cert, "keyfile " + key, "cafile " + clients, "require_certificate true"}
}

// What stands between us and a broker that speaks TLS is told in one sentence,
// by the trial and in the log.
func TestTLS(t *testing.T) {
	good, other := newAuthority(t), newAuthority(t)
	soon, past := time.Now().Add(time.Hour), time.Now().Add(-time.Hour)
	cert, key := good.sign("hub", "127.0.0.1", soon)
	sound := newMosquitto(t, openACL, speaks(cert, key, good.ca())...)
	cert, key = good.sign("late-hub", "127.0.0.1", past)
	expired := newMosquitto(t, openACL, speaks(cert, key, good.ca())...)
	cert, key = good.sign("other-hub", "broker.example", soon)
	misnamed := newMosquitto(t, openACL, speaks(cert, key, good.ca())...)
	plain := newMosquitto(t, openACL)

	type files struct{ ca, cert, key string }
	client := func(a *authority, name string, until time.Time) files {
		cert, key := a.sign(name, "client.example", until)
		return files{good.ca(), cert, key}
	}
	ours := client(good, "clutchd", soon)
	tests := []struct {
		sentence string
		hub      *mosquitto
		with     files
		says     string // "": every hop passes
	}{
		{"both certificates are good", sound, ours, ""},
		{
			"we give no certificate", sound,
			files{ca: good.ca()},
			"it wants a client certificate: name one as cert_file and key_file",
		},
		{
			"our certificate is signed by somebody else", sound, client(other, "stranger", soon),
			"it does not know who signed our client certificate",
		},
		{
			"our certificate has expired", sound, client(good, "late", past),
			"it says that our client certificate has expired",
		},
		{
			"the broker is vouched for by nobody we know", sound,
			files{other.ca(), ours.cert, ours.key},
			"its certificate is signed by nobody this machine knows: name the signer's certificate as ca_file",
		},
		{
			"the broker's certificate has expired", expired, ours,
			"its certificate is valid from " + onDay(-48*time.Hour) + " to " + onDay(-time.Hour) +
				" and this machine's clock says " + onDay(0),
		},
		{
			"the broker's certificate is for another host", misnamed, ours,
			"its certificate is for broker.example, not for 127.0.0.1",
		},
		{
			"the broker speaks no TLS there", plain, ours,
			"the far side breaks off the TLS handshake: perhaps no TLS is spoken there",
		},
		{
			"the CA file is not there", sound,
			files{good.path("none.pem"), ours.cert, ours.key},
			"read ca_file: open " + good.path("none.pem") + ": no such file or directory",
		},
		{
			"the CA file holds no certificate", sound,
			files{good.path("ca.key"), ours.cert, ours.key},
			"read ca_file " + good.path("ca.key") + ": no certificate in it",
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			b := tt.hub.broker()
			b.URL, b.CAFile, b.CertFile, b.KeyFile = "mqtts://"+tt.hub.addr, tt.with.ca, tt.with.cert, tt.with.key
			log := &lines{more: make(chan struct{}, 1)}
			c := tt.hub.run(b, mqtt.Options{Log: slog.New(slog.NewJSONHandler(log, nil))})
			passed, failed := hopsPassed(c.Trial(t.Context(), notice(1)))
			if tt.says == "" {
				if failed != nil {
					t.Errorf("%d hops passed, then %v; want all five", passed, failed)
				}
				return
			}
			if passed != 1 || failed == nil || failed.Error() != tt.says {
				t.Errorf("%d hops passed, then %v; want to be stopped while connecting: %s", passed, failed, tt.says)
			}
			log.await(t, `"cause":"`+tt.says+`"`)
		})
	}
}

func onDay(from time.Duration) string { return time.Now().UTC().Add(from).Format("2 January 2006") }

// lines is a log that can be waited on.
type lines struct {
	mu   sync.Mutex
	text bytes.Buffer
	more chan struct{}
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	select {
	case l.more <- struct{}{}:
	default:
	}
	return l.text.Write(p)
}

func (l *lines) await(t *testing.T, part string) {
	t.Helper()
	late := time.After(time.Minute)
	for {
		l.mu.Lock()
		text := l.text.String()
		l.mu.Unlock()
		if strings.Contains(text, part) {
			return
		}
		select {
		case <-l.more:
		case <-late:
			t.Fatalf("the log does not say %s:\n%s", part, text)
		}
	}
}

// A password that the broker no longer takes breaks the way, and one that it
// takes again mends it, with nothing restarted.
func TestRevokedPassword(t *testing.T) {
	m := newMosquitto(t, openACL)
	log := &lines{more: make(chan struct{}, 1)}
	c := m.run(m.broker(), mqtt.Options{Log: slog.New(slog.NewJSONHandler(log, nil))})
	const says = "it does not let this user in: check user, password and client certificate"
	for _, step := range []struct {
		sentence, password, says string
		passed                   int
	}{
		{"at first the password is good", "daemon-secret", "", 5},
		{"the broker is given another", "changed", says, 1},
		{"the broker is given the old one again", "daemon-secret", "", 5},
	} {
		if out, err := exec.Command(peer(t, "mosquitto_passwd"), "-b", m.path("passwords"), "clutchd", step.password).CombinedOutput(); err != nil {
			t.Fatalf("mosquitto_passwd: %v\n%s", err, out)
		}
		if err := m.cmd.Process.Signal(syscall.SIGHUP); err != nil {
			t.Fatal(err)
		}
		var passed int
		var failed error
		for late := time.Now().Add(time.Minute); time.Now().Before(late); { // the signal is taken when it is
			if passed, failed = hopsPassed(c.Trial(t.Context(), notice(1))); passed == step.passed {
				break
			}
		}
		if passed != step.passed || step.says != "" && failed.Error() != step.says {
			t.Errorf("%s: %d hops passed, then %v; want %d, then %q", step.sentence, passed, failed, step.passed, step.says)
		}
		if step.says != "" {
			log.await(t, `"cause":"`+step.says+`"`)
		}
	}
}
