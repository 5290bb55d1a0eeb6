package monitor_test

import (
	"cmp"
	"context"
	"errors"
	"iter"
	"maps"
	"slices"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// memory is a store without a disk. fail and hang stand for what a disk does.
type memory struct {
	mu       sync.Mutex
	entries  []book.Entry
	states   map[string]alerts.State
	past     map[string]alerts.State // by occurrence
	notices  []alerts.Notice
	readings map[string]map[int64]incubation.Reading
	staged   map[string][]incubation.Untimed
	next     uint64
	backups  []time.Time
	fail     error
	full     error         // of writes to the book; what is there can be read
	harmed   []string      // sentences about damage
	hang     chan struct{} // not nil: calls wait for it to be closed
	delay    time.Duration // of a Range
	widest   time.Duration // from first to last reading of one Append, at most
}

func newMemory() *memory {
	return &memory{
		states: map[string]alerts.State{}, past: map[string]alerts.State{}, next: 1,
		readings: map[string]map[int64]incubation.Reading{}, staged: map[string][]incubation.Untimed{},
	}
}

var _ monitor.Store = (*memory)(nil)

var errDisk = errors.New("the disk says no")

// disk waits and fails as it is told, and holds mu when it does neither.
func (s *memory) disk() error {
	s.mu.Lock()
	for s.hang != nil {
		hang := s.hang
		s.mu.Unlock()
		<-hang
		s.mu.Lock()
	}
	if s.fail != nil {
		defer s.mu.Unlock()
		return s.fail
	}
	return nil
}

// trouble sets what the disk does from now on; both nil: it works.
func (s *memory) trouble(fail error, hang chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.hang != nil && s.hang != hang {
		close(s.hang)
	}
	s.fail, s.hang = fail, hang
}

// refuse has writes to the book fail, or work again with nil.
func (s *memory) refuse(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.full = err
}

func (s *memory) Entries(context.Context) ([]book.Entry, error) {
	if err := s.disk(); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	return slices.Clone(s.entries), nil
}

func (s *memory) States(context.Context) ([]alerts.State, error) {
	if err := s.disk(); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	return slices.Collect(maps.Values(s.states)), nil
}

func (s *memory) Outbox(context.Context) ([]alerts.Notice, map[string]uint64, error) {
	if err := s.disk(); err != nil {
		return nil, nil, err
	}
	defer s.mu.Unlock()
	return slices.Clone(s.notices), nil, nil
}

func (s *memory) Reserve(_ context.Context, n uint64) (uint64, error) {
	if err := s.disk(); err != nil {
		return 0, err
	}
	defer s.mu.Unlock()
	first := s.next
	s.next += n
	return first, nil
}

func (s *memory) CommitBook(_ context.Context, entries []book.Entry, c alerts.Changes) error {
	if err := s.disk(); err != nil {
		return err
	}
	defer s.mu.Unlock()
	if s.full != nil {
		return s.full
	}
	s.entries = append(s.entries, entries...)
	for _, st := range c.States {
		s.states[st.Alert] = st
	}
	for _, id := range c.Forget {
		delete(s.states, id)
	}
	for _, p := range c.Past {
		s.past[p.Occurrence] = p
	}
	maps.DeleteFunc(s.past, func(_ string, p alerts.State) bool { return p.Raised.Before(c.DropPast) })
	s.notices = append(s.notices, c.Notices...)
	return nil
}

func (s *memory) Past(_ context.Context, from, to time.Time) ([]alerts.State, error) {
	if err := s.disk(); err != nil {
		return nil, err
	}
	defer s.mu.Unlock()
	var out []alerts.State
	for _, p := range s.past {
		if !p.Raised.Before(from) && p.Raised.Before(to) {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b alerts.State) int { return a.Raised.Compare(b.Raised) })
	return out, nil
}

func (s *memory) Backup(_ context.Context, now time.Time, _ time.Duration) error {
	if err := s.disk(); err != nil {
		return err
	}
	defer s.mu.Unlock()
	s.backups = append(s.backups, now)
	return nil
}

func (s *memory) Delivered(context.Context, string, uint64, []string) error { return nil }

func (s *memory) Append(_ context.Context, rs []incubation.Reading) error {
	if err := s.disk(); err != nil {
		return err
	}
	defer s.mu.Unlock()
	if len(rs) > 0 {
		s.widest = max(s.widest, rs[len(rs)-1].Time.Sub(rs[0].Time))
	}
	for _, r := range rs {
		s.put(r)
	}
	return nil
}

func (s *memory) put(r incubation.Reading) {
	if s.readings[r.Probe] == nil {
		s.readings[r.Probe] = map[int64]incubation.Reading{}
	}
	s.readings[r.Probe][r.Time.Unix()] = r
}

func (s *memory) Stage(_ context.Context, us []incubation.Untimed) error {
	if err := s.disk(); err != nil {
		return err
	}
	defer s.mu.Unlock()
	for _, u := range us {
		s.staged[u.Boot] = append(s.staged[u.Boot], u)
	}
	return nil
}

func (s *memory) Settle(_ context.Context, boot string, booted time.Time) (int, error) {
	if err := s.disk(); err != nil {
		return 0, err
	}
	defer s.mu.Unlock()
	us := s.staged[boot]
	delete(s.staged, boot)
	for _, u := range us {
		s.put(u.Timed(booted))
	}
	return len(us), nil
}

func (s *memory) Newest(context.Context) (time.Time, error) {
	if err := s.disk(); err != nil {
		return time.Time{}, err
	}
	defer s.mu.Unlock()
	var newest time.Time
	for _, rs := range s.readings {
		for _, r := range rs {
			if r.Time.After(newest) {
				newest = r.Time
			}
		}
	}
	return newest, nil
}

// slow makes every later Range take as long.
func (s *memory) slow(d time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.delay = d
}

func (s *memory) Range(_ context.Context, probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
	s.mu.Lock()
	delay := s.delay
	s.mu.Unlock()
	time.Sleep(delay)
	s.mu.Lock()
	defer s.mu.Unlock()
	all := slices.SortedFunc(maps.Values(s.readings[probe]), func(a, b incubation.Reading) int {
		return cmp.Compare(a.Time.UnixNano(), b.Time.UnixNano())
	})
	return func(yield func(incubation.Reading, error) bool) {
		for _, r := range all {
			if !r.Time.Before(from) && r.Time.Before(to) && !yield(r, nil) {
				return
			}
		}
	}
}

// harm has the store find a damage.
func (s *memory) harm(sentence string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.harmed = append(s.harmed, sentence)
}

// damage gives the sentences about it.
func (s *memory) damage() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.harmed)
}

// count is how many readings of a probe are stored.
func (s *memory) count(probe string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.readings[probe])
}

// countSince counts those from a time on.
func (s *memory) countSince(probe string, from time.Time) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := 0
	for at := range s.readings[probe] {
		if at >= from.Unix() {
			n++
		}
	}
	return n
}
