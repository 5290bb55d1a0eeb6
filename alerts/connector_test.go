package alerts_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
)

// A line is a station that can be cut off.
type line struct {
	station
	up chan struct{}
}

func (l *line) Connected() <-chan struct{} { return l.up }

// A far side that comes back in the middle of a long wait gets what waits for
// it at once; one that is there and refuses is left in peace until the wait
// is over.
func TestOutboxDeliversOnceReachable(t *testing.T) {
	for _, test := range []struct {
		about  string
		err    error
		prompt bool
	}{
		{"there was no connection: at once", fmt.Errorf("publish: %w", alerts.ErrUnreachable), true},
		{"it was there and refused: in its time", errFarSide, false},
	} {
		t.Run(test.about, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				var away atomic.Bool
				away.Store(true)
				l := &line{up: make(chan struct{})}
				l.name = "away"
				l.answer = func(context.Context, int) (bool, error) {
					if away.Load() {
						return false, test.err
					}
					return true, nil
				}
				o := alerts.NewOutbox(nil, nil, &ledger{}, quiet())
				stop := start(t, o, l)
				defer stop()
				o.Post(notices(1)...)
				// Six or more failures: by then it waits for 30 to 60 s.
				for l.tries() < 8 {
					time.Sleep(time.Second)
				}
				away.Store(false)
				close(l.up)
				time.Sleep(time.Second)
				synctest.Wait()
				if got := len(l.ids()) == 1; got != test.prompt {
					t.Errorf("delivered within a second: %v, want %v", got, test.prompt)
				}
			})
		})
	}
}
