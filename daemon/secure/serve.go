package secure

import (
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
)

// Served is our own certificate, for those who connect to us. It is read again
// when one of its files has changed. While the files do not fit together, as in
// the middle of a renewal, the last good pair is served.
type Served struct {
	cert, key string
	told      func(error) // what is wrong with the files, once for each change of it; nil: well again

	mu    sync.Mutex
	pair  *tls.Certificate
	seen  [2]os.FileInfo // the files that pair was read from
	fault string
}

// NewServed names the files; nothing is read yet. told may be nil.
func NewServed(cert, key string, told func(error)) *Served {
	if told == nil {
		told = func(error) {}
	}
	return &Served{cert: cert, key: key, told: told}
}

// Get gives the certificate for a connection, as tls.Config.GetCertificate.
// Two stats a connection are what a renewal without a restart costs.
func (s *Served) Get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.refresh()
	if text := errorText(err); text != s.fault {
		s.fault = text
		s.told(err)
	}
	if s.pair != nil {
		return s.pair, nil
	}
	return nil, err
}

// refresh reads the files if they are not those of the pair. Looked at before
// they are read, so that a change in between is seen the next time.
func (s *Served) refresh() error {
	now, err := s.look()
	if err != nil {
		return err
	}
	if s.pair != nil && unchanged(s.seen[0], now[0]) && unchanged(s.seen[1], now[1]) {
		return nil
	}
	pair, err := loadPair(s.cert, s.key)
	if err != nil {
		return err
	}
	s.pair, s.seen = &pair, now
	return nil
}

func (s *Served) look() (now [2]os.FileInfo, err error) {
	for i, path := range []string{s.cert, s.key} {
		if now[i], err = os.Stat(path); err != nil {
			return now, err
		}
	}
	return now, nil
}

func unchanged(a, b os.FileInfo) bool {
	return a.ModTime().Equal(b.ModTime()) && a.Size() == b.Size() && os.SameFile(a, b)
}

func errorText(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

func loadPair(cert, key string) (tls.Certificate, error) {
	pair, err := tls.LoadX509KeyPair(cert, key)
	if err != nil {
		return pair, fmt.Errorf("read cert_file %s and key_file %s: %w", cert, key, err)
	}
	if pair.Leaf == nil { // it is kept unless GODEBUG says otherwise
		if pair.Leaf, err = x509.ParseCertificate(pair.Certificate[0]); err != nil {
			return pair, err
		}
	}
	return pair, nil
}

// CheckServed says what is wrong with the files of a certificate of our own at
// a time: they cannot be read, do not fit together, it is not valid then, or
// everyone on the machine can read the key.
func CheckServed(cert, key string, now time.Time) error {
	pair, err := loadPair(cert, key)
	if err != nil {
		return err
	}
	var problems []error
	if now.Before(pair.Leaf.NotBefore) {
		problems = append(problems, fmt.Errorf("%s: the certificate begins on %s", cert,
			pair.Leaf.NotBefore.Format(time.DateOnly)))
	}
	if now.After(pair.Leaf.NotAfter) {
		problems = append(problems, fmt.Errorf("%s: the certificate ended on %s", cert,
			pair.Leaf.NotAfter.Format(time.DateOnly)))
	}
	if info, err := os.Stat(key); err == nil && info.Mode().Perm()&0o007 != 0 {
		problems = append(problems, fmt.Errorf("%s: everyone on this machine can read the key (%v): take that away with chmod o=",
			key, info.Mode().Perm()))
	}
	return errors.Join(problems...)
}
