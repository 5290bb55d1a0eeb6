package web

import (
	"net/http"
	"net/netip"
	"sync"
	"time"
)

// Wrong passwords: what an address may try, and what all strangers together
// may. Judgement: a person mistypes a few times; a guesser with a thousand
// addresses gets some four thousand guesses a day, and one who owns the
// password's device is never kept out by them.
const (
	freeTries     = 5 // wrong passwords from one address before it must wait
	longestWait   = 5 * time.Minute
	rememberTries = 15 * time.Minute
	addressesMost = 1000

	strangersFree = 30               // wrong passwords from all strangers together
	strangersNext = 20 * time.Second // then one more each
)

// A throttle slows down who guesses. Its zero value lets everyone begin.
type throttle struct {
	mu        sync.Mutex
	tries     map[netip.Addr]tries
	friends   map[netip.Addr]time.Time // where the password was right, and when last
	strangers int                      // wrong passwords of all that are no friends
	since     time.Time                // strangers counts from here
}

// tries are an address's wrong passwords.
type tries struct {
	wrong int
	last  time.Time
}

// wait is how long an address has to wait before its next try. It doubles with
// each wrong password beyond the free ones.
func (t *throttle) wait(from netip.Addr) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	own, tried := t.tries[from]
	since := time.Since(own.last)
	if tried && since > rememberTries {
		delete(t.tries, from)
		tried = false
	}
	if tried && own.wrong >= freeTries {
		pause := longestWait
		if n := own.wrong - freeTries; n < 8 {
			pause = min(longestWait, 2*time.Second<<n)
		}
		if pause > since {
			return pause - since
		}
	}
	if _, friend := t.friends[from]; friend {
		return 0
	}
	t.leak()
	if t.strangers < strangersFree {
		return 0
	}
	return strangersNext - time.Since(t.since)
}

// leak forgets one stranger's wrong password for each time that has gone by.
func (t *throttle) leak() {
	if t.strangers == 0 {
		t.since = time.Now()
		return
	}
	n := int(time.Since(t.since) / strangersNext)
	if n >= t.strangers {
		t.strangers, t.since = 0, time.Now()
		return
	}
	t.strangers, t.since = t.strangers-n, t.since.Add(time.Duration(n)*strangersNext)
}

// was notes how a try ended.
func (t *throttle) was(from netip.Addr, right bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if right {
		delete(t.tries, from)
		if t.friends == nil {
			t.friends = map[netip.Addr]time.Time{}
		}
		forgetOldest(t.friends, addressesMost, func(at time.Time) time.Time { return at })
		t.friends[from] = time.Now()
		return
	}
	if t.tries == nil {
		t.tries = map[netip.Addr]tries{}
	}
	forgetOldest(t.tries, addressesMost, func(n tries) time.Time { return n.last })
	t.tries[from] = tries{wrong: t.tries[from].wrong + 1, last: time.Now()}
	if _, friend := t.friends[from]; !friend {
		t.leak()
		t.strangers++
	}
}

// forgetOldest makes room for one more in a map that holds the most it may.
func forgetOldest[K comparable, V any](m map[K]V, most int, at func(V) time.Time) {
	if len(m) < most {
		return
	}
	var oldest K
	var when time.Time
	for k, v := range m {
		if when.IsZero() || at(v).Before(when) {
			oldest, when = k, at(v)
		}
	}
	delete(m, oldest)
}

func address(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	return at.Addr().Unmap()
}
