package alerts_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

// A station is a far side: what it got, and how it answers each try.
type station struct {
	name   string
	answer func(ctx context.Context, try int) (takes bool, err error) // nil: takes and confirms all

	mu   sync.Mutex
	try  int
	got  []uint64
	keep []alerts.Notice
}

func (s *station) Destination() string { return s.name }

func (s *station) Publish(ctx context.Context, n alerts.Notice) error {
	s.mu.Lock()
	s.try++
	try := s.try
	s.mu.Unlock()
	takes, err := true, error(nil)
	if s.answer != nil {
		takes, err = s.answer(ctx, try)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if takes {
		s.got = append(s.got, n.ID)
		s.keep = append(s.keep, n)
	}
	return err
}

func (s *station) ids() []uint64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]uint64(nil), s.got...)
}

func (s *station) tries() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.try
}

// A ledger is a keeper in memory.
type ledger struct {
	fail func(ctx context.Context) error

	mu      sync.Mutex
	calls   int
	cursors map[string]uint64
	dests   []string
}

func (l *ledger) Delivered(ctx context.Context, dest string, id uint64, dests []string) error {
	l.mu.Lock()
	l.calls++
	fail := l.fail
	l.mu.Unlock()
	if fail != nil {
		if err := fail(ctx); err != nil {
			return err
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.cursors == nil {
		l.cursors = map[string]uint64{}
	}
	l.cursors[dest], l.dests = id, dests
	return nil
}

func (l *ledger) saved() map[string]uint64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	saved := map[string]uint64{}
	for dest, id := range l.cursors {
		saved[dest] = id
	}
	return saved
}

var errFarSide = errors.New("no confirmation")

func dead(context.Context, int) (bool, error) { return false, errFarSide }

func hangs(ctx context.Context, _ int) (bool, error) {
	<-ctx.Done()
	return false, ctx.Err()
}

func quiet() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

func notices(ids ...uint64) []alerts.Notice {
	var all []alerts.Notice
	for _, id := range ids {
		all = append(all, alerts.Notice{ID: id, Reason: alerts.ReasonRaised, State: alerts.State{
			Alert: fmt.Sprintf("too-warm.place.box-%d", id), Occurrence: fmt.Sprint("o", id),
			Severity: alerts.Critical,
		}})
	}
	return all
}

// start runs the outbox and gives a function that stops it and waits.
func start(t *testing.T, o *alerts.Outbox, publishers ...alerts.Publisher) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- o.Run(ctx, publishers...) }()
	synctest.Wait()
	return func() {
		t.Helper()
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Run: %v, want nil once its context ends", err)
		}
	}
}

func TestOutboxDelivers(t *testing.T) {
	lost := func(ctx context.Context, try int) (bool, error) { // taken, the first two answers lost
		if try <= 2 {
			return true, errFarSide
		}
		return true, nil
	}
	late := func(ctx context.Context, try int) (bool, error) {
		if try <= 3 {
			return false, errFarSide
		}
		return true, nil
	}
	stuck := func(ctx context.Context, try int) (bool, error) {
		if try == 1 {
			return hangs(ctx, try)
		}
		return true, nil
	}
	tests := []struct {
		name    string
		pending []alerts.Notice
		cursors map[string]uint64
		post    []alerts.Notice
		answer  func(context.Context, int) (bool, error)
		want    []uint64
	}{
		{
			name:    "what the store held goes first, in the order of ids",
			pending: notices(3, 1, 2), post: notices(4), want: []uint64{1, 2, 3, 4},
		},
		{
			name:    "what the destination has is not sent again",
			pending: notices(1, 2, 3), cursors: map[string]uint64{"house": 2}, want: []uint64{3},
		},
		{
			name:    "a destination without a cursor starts at the oldest",
			pending: notices(5, 6), cursors: map[string]uint64{"other": 6}, want: []uint64{5, 6},
		},
		{
			name:    "a notice both stored and posted goes once",
			pending: notices(1, 2), post: notices(2, 3), want: []uint64{1, 2, 3},
		},
		{
			name: "notices posted out of order go in order",
			post: notices(9, 7, 8), want: []uint64{7, 8, 9},
		},
		{
			name:    "one posted after the cursor passed its id is sent all the same",
			cursors: map[string]uint64{"house": 9}, post: notices(5, 10), want: []uint64{5, 10},
		},
		{
			name: "a lost confirmation doubles the notice under its own id",
			post: notices(1, 2), answer: lost, want: []uint64{1, 1, 1, 2},
		},
		{
			name: "a far side that refuses thrice gets it at the fourth try",
			post: notices(1, 2), answer: late, want: []uint64{1, 2},
		},
		{
			name: "a far side that hangs is asked again after the timeout",
			post: notices(1, 2), answer: stuck, want: []uint64{1, 2},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				house := &station{name: "house", answer: tt.answer}
				book := &ledger{}
				o := alerts.NewOutbox(tt.pending, tt.cursors, book, quiet())
				o.Post(tt.post...)
				stop := start(t, o, house)
				time.Sleep(10 * time.Minute)
				stop()
				if diff := cmp.Diff(tt.want, house.ids()); diff != "" {
					t.Errorf("delivered (-want +got):\n%s", diff)
				}
				last := map[string]uint64{"house": tt.want[len(tt.want)-1]}
				if diff := cmp.Diff(last, book.saved()); diff != "" {
					t.Errorf("stored cursors (-want +got):\n%s", diff)
				}
				if diff := cmp.Diff(map[string]int{"house": 0}, o.Pending()); diff != "" {
					t.Errorf("pending (-want +got):\n%s", diff)
				}
			})
		})
	}
}

func TestOutboxDeadDestinationHoldsUpNobody(t *testing.T) {
	for name, answer := range map[string]func(context.Context, int) (bool, error){
		"refuses": dead, "hangs": hangs,
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				house, gone := &station{name: "house"}, &station{name: "gone", answer: answer}
				book := &ledger{}
				o := alerts.NewOutbox(nil, nil, book, quiet())
				stop := start(t, o, gone, house)
				o.Post(notices(1, 2, 3)...)
				synctest.Wait() // no time passes
				if diff := cmp.Diff([]uint64{1, 2, 3}, house.ids()); diff != "" {
					t.Errorf("the living one got (-want +got):\n%s", diff)
				}
				time.Sleep(time.Hour)
				want := map[string]int{"house": 0, "gone": 3}
				if diff := cmp.Diff(want, o.Pending()); diff != "" {
					t.Errorf("pending (-want +got):\n%s", diff)
				}
				// A try takes at least a 1 s and, at last, at most a 90 s turn.
				if n := gone.tries(); n < 40 || n > 130 {
					t.Errorf("the dead one was tried %d times in an hour, want 40 to 130", n)
				}
				stop()
				if diff := cmp.Diff(map[string]uint64{"house": 3}, book.saved()); diff != "" {
					t.Errorf("stored cursors (-want +got):\n%s", diff)
				}
				if diff := cmp.Diff([]string{"gone", "house"}, book.dests); diff != "" {
					t.Errorf("destinations told to the keeper (-want +got):\n%s", diff)
				}
			})
		})
	}
}

func TestOutboxKeeperFails(t *testing.T) {
	full := func(context.Context) error { return errors.New("no space left on device") }
	hung := func(ctx context.Context) error { <-ctx.Done(); return ctx.Err() }
	for name, fail := range map[string]func(context.Context) error{
		"refuses": full, "hangs": hung,
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				house, book := &station{name: "house"}, &ledger{fail: fail}
				o := alerts.NewOutbox(nil, nil, book, quiet())
				stop := start(t, o, house)
				defer stop()
				o.Post(notices(1)...)
				synctest.Wait()
				o.Post(notices(2, 3)...)
				synctest.Wait() // no time passes
				if diff := cmp.Diff([]uint64{1, 2, 3}, house.ids()); diff != "" {
					t.Errorf("delivered while the disk fails (-want +got):\n%s", diff)
				}
				time.Sleep(5 * time.Minute)
				if len(book.saved()) > 0 {
					t.Fatalf("the failing keeper has %v", book.saved())
				}
				book.mu.Lock()
				book.fail = nil
				book.mu.Unlock()
				time.Sleep(2 * time.Minute)
				if diff := cmp.Diff(map[string]uint64{"house": 3}, book.saved()); diff != "" {
					t.Errorf("once the disk is back (-want +got):\n%s", diff)
				}
			})
		})
	}
}

// What could not be stored while the outbox ran is stored when it stops.
func TestOutboxStoresCursorsAtTheEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		book := &ledger{fail: func(context.Context) error { return errors.New("write error") }}
		o := alerts.NewOutbox(nil, nil, book, quiet())
		stop := start(t, o, &station{name: "house"})
		o.Post(notices(1)...)
		synctest.Wait()
		book.mu.Lock()
		book.fail = nil
		book.mu.Unlock()
		stop()
		if diff := cmp.Diff(map[string]uint64{"house": 1}, book.saved()); diff != "" {
			t.Errorf("stored cursors (-want +got):\n%s", diff)
		}
	})
}

// A late notice moves no cursor back: after a restart nothing above it would
// have to be sent again.
func TestOutboxCursorNeverMovesBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		house, book := &station{name: "house"}, &ledger{}
		o := alerts.NewOutbox(nil, nil, book, quiet())
		stop := start(t, o, house)
		o.Post(notices(9)...)
		synctest.Wait()
		o.Post(notices(5)...)
		synctest.Wait()
		stop()
		if diff := cmp.Diff([]uint64{9, 5}, house.ids()); diff != "" {
			t.Errorf("delivered (-want +got):\n%s", diff)
		}
		if diff := cmp.Diff(map[string]uint64{"house": 9}, book.saved()); diff != "" {
			t.Errorf("stored cursors (-want +got):\n%s", diff)
		}
	})
}

// A keeper that never returns must not keep the program from stopping.
func TestOutboxStopsBesideAHungKeeper(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		free := make(chan struct{})
		book := &ledger{fail: func(context.Context) error { <-free; return nil }}
		o := alerts.NewOutbox(nil, nil, book, quiet())
		stop := start(t, o, &station{name: "house"})
		o.Post(notices(1)...)
		synctest.Wait()
		stop()
		if len(book.saved()) > 0 {
			t.Errorf("the hung keeper has %v", book.saved())
		}
		close(free)
	})
}

// The outbox is cut short at random moments, and started again from what the
// store held, with a far side that fails in every way it can.
func TestOutboxRandomCuts(t *testing.T) {
	const total = 300
	for seed := range uint64(20) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				rnd := rand.New(rand.NewPCG(seed, 1))
				mood := rand.New(rand.NewPCG(seed, 2))
				disk := rand.New(rand.NewPCG(seed, 3))
				moody := func(ctx context.Context, _ int) (bool, error) {
					switch mood.IntN(8) {
					case 0:
						return true, errFarSide // the confirmation is lost
					case 1:
						return false, errFarSide
					case 2:
						return hangs(ctx, 0)
					}
					return true, nil
				}
				house := &station{name: "house", answer: moody}
				book := &ledger{fail: func(context.Context) error {
					if disk.IntN(4) == 0 {
						return errors.New("write error")
					}
					return nil
				}}
				var stored []alerts.Notice
				cuts := 0
				for len(stored) < total || len(house.ids()) == 0 || !has(house.ids(), total) {
					o := alerts.NewOutbox(stored, book.saved(), book, quiet())
					stop := start(t, o, house)
					for range rnd.IntN(20) {
						if len(stored) < total {
							n := notices(uint64(len(stored) + 1))
							stored = append(stored, n...)
							o.Post(n...)
						}
						time.Sleep(time.Duration(rnd.IntN(60_000)) * time.Millisecond)
					}
					stop()
					cuts++
				}
				t.Logf("%d notices over %d cuts, %d doubled", total, cuts, len(house.ids())-total)
				checkArrived(t, house, total)
			})
		})
	}
}

func has(ids []uint64, id uint64) bool {
	for _, i := range ids {
		if i == id {
			return true
		}
	}
	return false
}

// checkArrived holds that every id up to total arrived, that none came before
// all below it had, and that doubles are the same notice.
func checkArrived(t *testing.T, s *station, total uint64) {
	t.Helper()
	var seen uint64
	first := map[uint64]alerts.Notice{}
	for _, n := range s.keep {
		if n.ID > seen+1 {
			t.Fatalf("notice %d came before %d", n.ID, seen+1)
		}
		seen = max(seen, n.ID)
		if earlier, doubled := first[n.ID]; !doubled {
			first[n.ID] = n
		} else if diff := cmp.Diff(earlier, n); diff != "" {
			t.Errorf("double of %d differs (-first +again):\n%s", n.ID, diff)
		}
	}
	if seen != total {
		t.Errorf("arrived up to %d, want %d", seen, total)
	}
}

func TestOutboxRefusesToRun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := alerts.NewOutbox(nil, nil, &ledger{}, quiet())
		err := o.Run(t.Context(), &station{name: "house"}, &station{name: "house"})
		if err == nil || !strings.Contains(err.Error(), `"house" is there twice`) {
			t.Errorf("two publishers of one destination: %v", err)
		}
		stop := start(t, o, &station{name: "house"})
		defer stop()
		if err := o.Run(t.Context()); err == nil || !strings.Contains(err.Error(), "runs already") {
			t.Errorf("a second Run beside the first: %v", err)
		}
	})
}

func TestOutboxRunsAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		house := &station{name: "house"}
		o := alerts.NewOutbox(nil, nil, &ledger{}, quiet())
		o.Post(notices(1)...)
		start(t, o, house)()
		o.Post(notices(2)...)
		start(t, o, house)()
		if diff := cmp.Diff([]uint64{1, 2}, house.ids()); diff != "" {
			t.Errorf("over two runs (-want +got):\n%s", diff)
		}
	})
}

// Above the bound, what neither begins nor ends an alert goes first, then what
// a newer occurrence has replaced, the newest of equals first; never silently.
func TestOutboxBound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var logged bytes.Buffer
		o := alerts.NewOutbox(nil, nil, &ledger{}, slog.New(slog.NewTextHandler(&logged, nil)))
		all := notices(1, 2, 3)
		all[0].Alert, all[1].Alert = "a", "a" // 1 is an older occurrence of 2's alert
		all[2].Alert, all[2].Occurrence, all[2].Reason = "a", "o2", alerts.ReasonAcknowledged
		for id := uint64(4); id <= alerts.MaxWaiting+2; id++ {
			all = append(all, notices(id)...)
		}
		o.Post(all...)
		if !strings.Contains(logged.String(), "count=2") || o.Dropped() != 2 {
			t.Errorf("dropped %d, logged %q, want two and a line that says so", o.Dropped(), logged.String())
		}
		o.Post(notices(alerts.MaxWaiting + 3)...)
		if !strings.Contains(logged.String(), fmt.Sprint("notice=", alerts.MaxWaiting+3)) {
			t.Errorf("logged %q, want the id of the third one dropped", logged.String())
		}
		house := &station{name: "house"}
		start(t, o, house)()
		got := house.ids()
		if len(got) != alerts.MaxWaiting || got[0] != 2 || got[1] != 4 ||
			got[len(got)-1] != alerts.MaxWaiting+2 {
			t.Errorf("%d arrived, %v … %d: want 1 (replaced), 3 (acknowledged) and the newest dropped",
				len(got), got[:2], got[len(got)-1])
		}
	})
}
