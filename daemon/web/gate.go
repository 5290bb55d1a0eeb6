package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"log/slog"
	"net/http"
	"sync"
	"time"
)

// login knows who may come in: by the password, a session, a token or a link.
type login struct {
	secret   secret
	needed   bool
	log      *slog.Logger
	one      sync.Mutex // one hash at a time: each takes tens of megabytes
	throttle throttle
	key      [32]byte // for proven, and for what is shown once

	mu       sync.Mutex
	proven   []byte // keyed hash of the password once it was right; see basic
	sessions map[tokenHash]session
	keys     []key
	due      bool // something is to be kept, and busy: somebody is at it
	busy     bool

	keep   Keep
	unread bool // keep holds what cannot be read: it stays as it is
	saving sync.Mutex
	savers sync.WaitGroup
}

func newLogin(hash string, keep Keep, log *slog.Logger) (*login, error) {
	l := &login{sessions: map[tokenHash]session{}, keep: keep, log: log}
	if hash == "" {
		return l, nil
	}
	var err error
	l.needed = true
	if _, err := rand.Read(l.key[:]); err != nil {
		return nil, err
	}
	if l.secret, err = parseSecret(hash); err != nil {
		return nil, err
	}
	// The watch goes on without them; the password opens the room.
	if err := l.recall(); err != nil {
		log.Error("tokens and sessions not read", "error", err)
	}
	return l, nil
}

// basic is for programs that send the password with every request: once it
// was right, the same one is recognised without the slow hash.
func (l *login) basic(r *http.Request, password string) bool {
	mac := hmac.New(sha256.New, l.key[:])
	mac.Write([]byte(password))
	sum := mac.Sum(nil)
	l.mu.Lock()
	known := hmac.Equal(sum, l.proven)
	l.mu.Unlock()
	if known {
		return true
	}
	right, _ := l.try(r, password)
	if right {
		l.mu.Lock()
		l.proven = sum
		l.mu.Unlock()
	}
	return right
}

// try checks a password, or says how long this address has to wait. Who has to
// wait is told so without a hash, before and after standing in line for one.
func (l *login) try(r *http.Request, password string) (right bool, wait time.Duration) {
	from := address(r)
	if wait := l.throttle.wait(from); wait > 0 {
		return false, wait
	}
	l.one.Lock()
	defer l.one.Unlock()
	if wait := l.throttle.wait(from); wait > 0 {
		return false, wait
	}
	right = l.secret.matches(password)
	l.throttle.was(from, right)
	return right, 0
}
