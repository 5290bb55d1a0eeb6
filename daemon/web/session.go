package web

import (
	"crypto/rand"
	"crypto/sha256"
	"time"
)

const (
	sessionLife  = 30 * 24 * time.Hour // since last used
	sessionsMost = 100                 // opened with the password
	visitorsMost = 20                  // opened with one link
	savedEnough  = 24 * time.Hour      // a session's end is kept anew when it has moved by this
)

// A session is a browser that has shown the password or a link. It is known by
// the hash of its token, which only the browser has.
type session struct {
	end   time.Time
	saved time.Time // the end that is kept
	name  string    // of who uses it, for the book; may be empty
	key   string    // id of the link that opened it; "": the password did
}

type tokenHash = [sha256.Size]byte

func hashOf(token string) tokenHash { return sha256.Sum256([]byte(token)) }

// open starts a session and gives its token. One too many ends the one of the
// same kind that was used least lately: a wall screen that forgets its cookie
// never puts out the keeper.
func (l *login) open(name, key string) string {
	token := rand.Text()
	l.mu.Lock()
	most, alike, oldest := sessionsMost, 0, tokenHash{}
	if key != "" {
		most = visitorsMost
	}
	var end time.Time
	for k, s := range l.sessions {
		if (s.key == "") != (key == "") || key != "" && s.key != key {
			continue
		}
		if alike++; end.IsZero() || s.end.Before(end) {
			oldest, end = k, s.end
		}
	}
	if alike >= most {
		delete(l.sessions, oldest)
	}
	until := time.Now().Add(sessionLife)
	l.sessions[hashOf(token)] = session{end: until, saved: until, name: name, key: key}
	l.mu.Unlock()
	l.saveSoon()
	return token
}

// resume gives the token's session, and prolongs it.
func (l *login) resume(token string) (session, bool) {
	at := hashOf(token)
	l.mu.Lock()
	s, ok := l.sessions[at]
	if !ok || time.Now().After(s.end) {
		delete(l.sessions, at)
		l.mu.Unlock()
		return session{}, false
	}
	s.end = time.Now().Add(sessionLife)
	late := s.end.Sub(s.saved) > savedEnough
	if late {
		s.saved = s.end
	}
	l.sessions[at] = s
	l.mu.Unlock()
	if late {
		l.saveSoon()
	}
	return s, true
}

// rename puts another name on a session.
func (l *login) rename(token, name string) {
	l.mu.Lock()
	if s, ok := l.sessions[hashOf(token)]; ok {
		s.name = name
		l.sessions[hashOf(token)] = s
	}
	l.mu.Unlock()
	l.saveSoon()
}

// close ends a session.
func (l *login) close(token string) {
	l.mu.Lock()
	_, there := l.sessions[hashOf(token)]
	delete(l.sessions, hashOf(token))
	l.mu.Unlock()
	if there {
		l.saveSoon()
	}
}

// closeAll ends every session, those that links opened too. It says when that
// is durable: a lost phone must not come back with the next restart.
func (l *login) closeAll() error {
	l.mu.Lock()
	clear(l.sessions)
	l.mu.Unlock()
	return l.save()
}

// count gives how many sessions the password opened, and how many links did.
func (l *login) count() (own, visitors int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, s := range l.sessions {
		switch {
		case time.Now().After(s.end):
		case s.key == "":
			own++
		default:
			visitors++
		}
	}
	return own, visitors
}
