package web

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// A Keep is where keys and sessions outlive a restart, so that a restart at
// night locks no phone out. It holds hashes, never a token. Load gives nil
// where nothing was kept yet; Save returns once it is durable. Neither is
// called from two goroutines at once.
type Keep interface {
	Load() ([]byte, error)
	Save(text []byte) error
}

var (
	errTooManyKeys = errors.New("there are 50 tokens and links: revoke one first")
	errNotKept     = errors.New("what was kept of tokens and sessions cannot be read")
)

const keptVersion = 1

type keptJSON struct {
	Version  int           `json:"version"`
	Password string        `json:"password"` // SHA-256 of the password's hash: sessions end with it
	Keys     []key         `json:"keys"`
	Sessions []sessionJSON `json:"sessions"`
}

type sessionJSON struct {
	Hash string    `json:"sha256"`
	End  time.Time `json:"end"`
	Name string    `json:"name,omitempty"`
	Key  string    `json:"key,omitempty"`
}

// recall reads what was kept. After an error nothing is written over it: keys
// cannot be made then, sessions live in memory.
func (l *login) recall() error {
	if l.keep == nil {
		return nil
	}
	text, err := l.keep.Load()
	if err == nil && text != nil {
		err = l.take(text)
	}
	if err != nil {
		l.unread = true
		return fmt.Errorf("read the tokens and sessions: %w", err)
	}
	return nil
}

func (l *login) take(text []byte) error {
	var kept keptJSON
	if err := json.Unmarshal(text, &kept); err != nil {
		return err
	}
	if kept.Version != keptVersion {
		return fmt.Errorf("version %d is not known", kept.Version)
	}
	l.keys = kept.Keys
	if kept.Password != l.fingerprint() {
		return nil // the password is another one: every session has ended
	}
	for _, s := range kept.Sessions {
		var at tokenHash
		if n, err := hex.Decode(at[:], []byte(s.Hash)); err != nil || n != len(at) || len(s.Hash) != 2*len(at) {
			continue
		}
		l.sessions[at] = session{end: s.End, saved: s.End, name: s.Name, key: s.Key}
	}
	return nil
}

func (l *login) fingerprint() string {
	h := hashOf(l.secret.String())
	return hex.EncodeToString(h[:])
}

// save keeps everything, and returns once that is durable.
func (l *login) save() error {
	if l.keep == nil {
		return nil
	}
	if l.unread {
		return errNotKept
	}
	l.saving.Lock()
	defer l.saving.Unlock()
	text, err := json.MarshalIndent(l.kept(), "", " ")
	if err != nil {
		return err
	}
	return l.keep.Save(append(text, '\n'))
}

func (l *login) kept() keptJSON {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := keptJSON{Version: keptVersion, Password: l.fingerprint(), Keys: slices.Clone(l.keys)}
	for at, s := range l.sessions {
		if time.Now().After(s.end) {
			delete(l.sessions, at)
			continue
		}
		out.Sessions = append(out.Sessions, sessionJSON{
			Hash: hex.EncodeToString(at[:]), End: s.end.UTC(), Name: s.name, Key: s.key,
		})
	}
	slices.SortFunc(out.Sessions, func(a, b sessionJSON) int { return strings.Compare(a.Hash, b.Hash) })
	return out
}

// saveSoon keeps everything beside the request: nobody waits for a slow card
// to look at the room. What a power cut loses of it costs one login.
func (l *login) saveSoon() {
	if l.keep == nil || l.unread {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.due = true; l.busy {
		return
	}
	l.busy = true
	l.savers.Go(func() {
		for l.still() {
			if err := l.save(); err != nil {
				l.log.Error("sessions not kept", "error", err)
			}
		}
	})
}

// still reports whether something is to be saved, and ends the saver if not.
func (l *login) still() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.busy, l.due = l.due, false
	return l.busy
}
