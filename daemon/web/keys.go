package web

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"slices"
	"time"
)

// A scope is what a key opens.
type scope string

const (
	scopeRead  scope = "read"  // a program that reads: JSON and metrics
	scopeWrite scope = "write" // a program that also changes things
	scopeLink  scope = "link"  // an address that opens the pages to look at
)

const (
	keysMost  = 50
	usedEvery = time.Hour   // how closely it is kept when a key was last used
	shownFor  = time.Minute // a form that comes twice is shown its secret again
)

// A key is a way in besides the password. Its secret is shown once and is not
// kept, only the SHA-256 of it: the secret is 160 random bits, so that there
// is nothing for a slow hash to slow down.
type key struct {
	ID          string    `json:"id"`
	Name        string    `json:"name"`
	Scope       scope     `json:"scope"`
	Acknowledge bool      `json:"acknowledge,omitempty"` // a link whose visitors may acknowledge
	Opens       string    `json:"opens,omitempty"`       // the page that a link leads to
	Hash        string    `json:"sha256"`                // of the secret, in hex
	Made        time.Time `json:"made"`
	Used        time.Time `json:"used,omitzero"`
	Request     string    `json:"request,omitempty"` // the form that asked for it
}

// may is what whoever comes with the key may do.
func (k key) may() may {
	switch {
	case k.Scope == scopeWrite:
		return mayChange
	case k.Scope == scopeLink && k.Acknowledge:
		return mayAcknowledge
	}
	return mayLook
}

// make keeps a new key and gives it with its secret. A form that was sent twice
// makes one key and is told the same secret, within shownFor; afterwards the
// secret is "".
func (l *login) make(k key) (key, string, error) {
	secret := l.secretFor(k.Request)
	l.mu.Lock()
	if i := slices.IndexFunc(l.keys, func(o key) bool { return o.Request == k.Request }); i >= 0 {
		k = l.keys[i]
		l.mu.Unlock()
		if h := hashOf(secret); k.Hash != hex.EncodeToString(h[:]) || time.Since(k.Made) > shownFor {
			secret = ""
		}
		return k, secret, nil
	}
	if len(l.keys) >= keysMost {
		l.mu.Unlock()
		return key{}, "", errTooManyKeys
	}
	h := hashOf(secret)
	k.ID, k.Hash, k.Made = rand.Text()[:12], hex.EncodeToString(h[:]), time.Now().UTC().Truncate(time.Second)
	l.keys = append(l.keys, k)
	l.mu.Unlock()
	if err := l.save(); err != nil { // not durable: not made
		l.drop(k.ID)
		return key{}, "", err
	}
	return k, secret, nil
}

// secretFor is the same for the same form while the program runs, and tells
// nothing of any other.
func (l *login) secretFor(request string) string {
	mac := hmac.New(sha256.New, l.key[:])
	mac.Write([]byte("secret of " + request))
	return "clutchd_" + base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(mac.Sum(nil)[:20])
}

// revoke ends a key and every session that it opened. It says whether there
// was one.
func (l *login) revoke(id string) (bool, error) {
	there := l.drop(id)
	if !there {
		return false, nil
	}
	return true, l.save()
}

func (l *login) drop(id string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	before := len(l.keys)
	l.keys = slices.DeleteFunc(l.keys, func(k key) bool { return k.ID == id })
	for at, s := range l.sessions {
		if s.key == id {
			delete(l.sessions, at)
		}
	}
	return len(l.keys) < before
}

// holds gives the key that a secret belongs to, and notes that it was used.
// Found by the secret's hash: how long that takes tells nothing of the secret.
func (l *login) holds(secret string) (key, bool) {
	h := hashOf(secret)
	text := hex.EncodeToString(h[:])
	l.mu.Lock()
	i := slices.IndexFunc(l.keys, func(k key) bool { return k.Hash == text })
	if i < 0 {
		l.mu.Unlock()
		return key{}, false
	}
	late := l.usedNow(i)
	k := l.keys[i]
	l.mu.Unlock()
	if late {
		l.saveSoon()
	}
	return k, true
}

// keyOf gives a key by its id, and notes that it was used.
func (l *login) keyOf(id string) (key, bool) {
	l.mu.Lock()
	i := slices.IndexFunc(l.keys, func(k key) bool { return k.ID == id })
	if i < 0 {
		l.mu.Unlock()
		return key{}, false
	}
	late := l.usedNow(i)
	k := l.keys[i]
	l.mu.Unlock()
	if late {
		l.saveSoon()
	}
	return k, true
}

func (l *login) usedNow(i int) (late bool) {
	if time.Since(l.keys[i].Used) < usedEvery {
		return false
	}
	l.keys[i].Used = time.Now().UTC().Truncate(time.Second)
	return true
}

// listed gives the keys, newest first.
func (l *login) listed() []key {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := slices.Clone(l.keys)
	slices.Reverse(out)
	return out
}
