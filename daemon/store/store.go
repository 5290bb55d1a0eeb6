// Package store keeps what must survive a power cut: the book, the alerts'
// states, the outbox and the readings. It is the only package that knows
// bbolt.
//
// It judges nothing, has no timer and starts no goroutine: whoever calls it
// decides when to write and how long to wait. It makes no copy elsewhere.
//
// A folder holds book.db (entries, alert states, outbox, cursors, the id
// block), one history-YYYY.db for each UTC year of readings, untimed.db while
// readings wait for their true time, and lock. A call that has returned nil
// is on the disk. Times are cut to whole seconds, never rounded up, so that a
// stored time is never ahead of the true one. Temperatures are kept on a grid
// of 0.01 K, except that sixteenths of a kelvin, as some chips give them, are
// kept exactly; relative humidity on a grid of 0.01 %. Both grids are finer
// than the noise of the sensors.
package store

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync"
)

// Options says how a folder is opened. The zero value is usable.
type Options struct {
	Log *slog.Logger // nil: nothing is logged
	// Socket is where a running program can be reached. It is written into
	// the lock file for a second opener to read; the store does not open it.
	Socket string

	noSync bool      // for the control of the power-loss test only
	later  migration // tests only: to a version of every schema after the present
}

// A Store is one opened folder. Its methods may be called from several
// goroutines. Close it once.
type Store struct {
	lock    *lockFile
	book    *bookFile
	history *history
	untimed *untimed
	damage  *damageLog
}

// Open opens the folder dir, creating it if need be, and holds it until
// Close. Files found damaged are set aside and told of by Damage; what could
// still be read from them is kept. ErrHeld: another process has the folder;
// ErrNewer: a later version of the program has written it. Both carry a hint
// (see Hint).
func Open(ctx context.Context, dir string, o Options) (*Store, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	lock, err := takeLock(dir, o.Socket)
	if err != nil {
		return nil, err
	}
	s, err := open(dir, o)
	if err != nil {
		return nil, orClose(err, lock.release)
	}
	s.lock = lock
	return s, nil
}

// open opens the files of a folder that is already held.
func open(dir string, o Options) (*Store, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &Store{damage: &damageLog{log: o.Log}}
	cfg := fileConfig{Options: o, dir: dir, damage: s.damage}
	var err error
	if s.book, err = openBook(cfg); err != nil {
		return nil, err
	}
	s.untimed = &untimed{cfg: cfg}
	if s.history, err = openHistory(cfg); err != nil {
		return nil, orClose(err, s.book.close)
	}
	return s, nil
}

// Close waits for calls under way, closes every file and lets go of the
// folder.
func (s *Store) Close() error {
	errs := []error{s.history.close(), s.untimed.close(), s.book.close(), s.lock.release()}
	for _, err := range errs {
		if err != nil {
			return fmt.Errorf("close store: %w", err)
		}
	}
	return nil
}

// Damage says, in sentences for the keeper, what was found damaged since
// Open, what was set aside and what could be kept. Empty: nothing.
func (s *Store) Damage() []string { return s.damage.all() }

// damageLog collects the sentences of Damage; each is told once.
type damageLog struct {
	log  *slog.Logger
	mu   sync.Mutex
	said []string
}

func (d *damageLog) tell(format string, args ...any) {
	sentence := fmt.Sprintf(format, args...)
	d.mu.Lock()
	defer d.mu.Unlock()
	if slices.Contains(d.said, sentence) || len(d.said) >= maxSaid {
		return
	}
	d.said = append(d.said, sentence)
	d.log.Warn("store damaged", "what", sentence)
}

// maxSaid bounds the sentences of one run: a dying disk has no end of them.
const maxSaid = 100

func (d *damageLog) all() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.said)
}

// orClose gives err, after closing what was opened on the way to it.
func orClose(err error, closeIt func() error) error {
	if cerr := closeIt(); cerr != nil {
		return fmt.Errorf("%w (and on closing: %v)", err, cerr)
	}
	return err
}

// makeFolder creates dir for its owner only and makes its name durable.
func makeFolder(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("create store folder: %w", err)
	}
	return syncFolder(filepath.Dir(dir))
}

// syncFolder makes the names in dir durable.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync folder: %w", err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil {
		return fmt.Errorf("sync folder: %w", err)
	}
	return nil
}
