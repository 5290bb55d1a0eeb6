package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"net/http"
	"net/netip"
	"sync"
	"time"
)

const (
	sessionCookie = "clutchd_session"
	sessionLife   = 30 * 24 * time.Hour // since last used
	sessionsMost  = 100
	freeTries     = 5 // wrong passwords from one address before it must wait
	longestWait   = 5 * time.Minute
	rememberTries = 15 * time.Minute
	addressesMost = 1000
)

// login knows who has shown the password. Sessions live in memory: a restart
// asks again.
type login struct {
	secret secret
	needed bool
	one    sync.Mutex // one hash at a time: each takes tens of megabytes

	mu       sync.Mutex
	sessions map[[sha256.Size]byte]time.Time // by hash of the token: end
	tries    map[netip.Addr]tries
	key      [32]byte // for proven
	proven   []byte   // keyed hash of the password once it was right; see basic
}

// tries are an address's wrong passwords.
type tries struct {
	wrong int
	last  time.Time
}

func newLogin(hash string) (*login, error) {
	l := &login{
		sessions: map[[sha256.Size]byte]time.Time{},
		tries:    map[netip.Addr]tries{},
	}
	if hash == "" {
		return l, nil
	}
	var err error
	l.needed = true
	if _, err := rand.Read(l.key[:]); err != nil {
		return nil, err
	}
	l.secret, err = parseSecret(hash)
	return l, err
}

// knows reports whether the request comes with a session or the password.
func (l *login) knows(r *http.Request) bool {
	if !l.needed {
		return true
	}
	if c, err := r.Cookie(sessionCookie); err == nil && l.fresh(c.Value) {
		return true
	}
	_, password, ok := r.BasicAuth()
	return ok && l.basic(r, password)
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

// try checks a password, or says how long this address has to wait.
func (l *login) try(r *http.Request, password string) (right bool, wait time.Duration) {
	from := address(r)
	l.one.Lock()
	defer l.one.Unlock()
	if wait := l.wait(from); wait > 0 {
		return false, wait
	}
	right = l.secret.matches(password)
	l.mu.Lock()
	defer l.mu.Unlock()
	if right {
		delete(l.tries, from)
		return true, 0
	}
	if len(l.tries) >= addressesMost {
		l.forgetOldest()
	}
	l.tries[from] = tries{wrong: l.tries[from].wrong + 1, last: time.Now()}
	return false, 0
}

// wait doubles with each wrong password beyond the free ones.
func (l *login) wait(from netip.Addr) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	t, ok := l.tries[from]
	if !ok || t.wrong < freeTries {
		return 0
	}
	since := time.Since(t.last)
	if since > rememberTries {
		delete(l.tries, from)
		return 0
	}
	pause := longestWait
	if n := t.wrong - freeTries; n < 8 {
		pause = min(longestWait, 2*time.Second<<n)
	}
	return max(0, pause-since)
}

func (l *login) forgetOldest() {
	var oldest netip.Addr
	var at time.Time
	for a, t := range l.tries {
		if at.IsZero() || t.last.Before(at) {
			oldest, at = a, t.last
		}
	}
	delete(l.tries, oldest)
}

func address(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return at.Addr().Unmap()
}

// open starts a session and gives its token.
func (l *login) open() string {
	token := rand.Text()
	l.mu.Lock()
	defer l.mu.Unlock()
	var oldest [sha256.Size]byte
	var end time.Time
	for k, e := range l.sessions {
		if end.IsZero() || e.Before(end) {
			oldest, end = k, e
		}
	}
	if len(l.sessions) >= sessionsMost {
		delete(l.sessions, oldest)
	}
	l.sessions[sha256.Sum256([]byte(token))] = time.Now().Add(sessionLife)
	return token
}

// fresh reports whether the token's session lives, and prolongs it.
func (l *login) fresh(token string) bool {
	key := sha256.Sum256([]byte(token))
	l.mu.Lock()
	defer l.mu.Unlock()
	end, ok := l.sessions[key]
	if !ok || time.Now().After(end) {
		delete(l.sessions, key)
		return false
	}
	l.sessions[key] = time.Now().Add(sessionLife)
	return true
}

func (l *login) close(token string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.sessions, sha256.Sum256([]byte(token)))
}
