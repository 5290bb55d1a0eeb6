package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"
)

// A copy of the book is asked for once the time is known, and again each
// hour: the store makes one when the newest is a day old.
func TestBacksUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory())
		r.trusted = false
		r.live(10 * time.Minute)
		if n := len(r.store.backups); n != 0 {
			t.Errorf("%d copies under a time nobody knows", n)
		}
		r.trusted = true
		r.live(2*time.Hour + time.Minute)
		synctest.Wait()
		r.store.mu.Lock()
		defer r.store.mu.Unlock()
		if n := len(r.store.backups); n != 3 {
			t.Errorf("asked for %d copies in two hours, want one at once and one an hour", n)
		}
	})
}
