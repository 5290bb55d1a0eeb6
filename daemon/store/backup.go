package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// keptBackups is how many copies of the book stay beside it.
const keptBackups = 3

// Backup lays a copy of the book beside it, from which Open begins again if
// the book is found damaged, and drops all but the newest few. It does nothing
// if there is a copy younger than every. now is the true time: the system's
// clock may not be set. The copy shares the book's disk: it helps against a
// damaged file, not against a lost card.
func (s *Store) Backup(ctx context.Context, now time.Time, every time.Duration) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("back up the book: %w", err)
	}
	all, err := s.backups()
	if err != nil {
		return fmt.Errorf("back up the book: %w", err)
	}
	if n := len(all); n > 0 && now.Sub(madeAt(all[n-1])) < every && !now.Before(madeAt(all[n-1])) {
		return nil
	}
	path := s.history.cfg.backupName(bookName, now)
	if err := s.book.copyTo(path); err != nil {
		return fmt.Errorf("back up the book: %w", err)
	}
	if r := inspect(path); !r.sound() {
		return fmt.Errorf("back up the book: the copy %s cannot be read", filepath.Base(path))
	}
	return s.drop(path)
}

// backups lists the book's copies, oldest first.
func (s *Store) backups() ([]string, error) {
	pattern := strings.TrimSuffix(bookName, ".db") + "-backup-*.db"
	all, err := filepath.Glob(s.history.cfg.path(pattern))
	slices.Sort(all) // by the time in the name
	return all, err
}

// madeAt is when a copy was made, zero if its name does not say.
func madeAt(path string) time.Time {
	name := strings.TrimSuffix(filepath.Base(path), ".db")
	t, _ := time.Parse(stamp, name[strings.LastIndexByte(name, '-')+1:])
	return t
}

// drop removes all copies but the one just made and the newest others.
func (s *Store) drop(made string) error {
	all, err := s.backups()
	if err != nil {
		return fmt.Errorf("drop old backups: %w", err)
	}
	all = slices.DeleteFunc(all, func(path string) bool { return path == made })
	for _, path := range all[:max(0, len(all)-(keptBackups-1))] {
		if err := os.Remove(path); err != nil {
			return fmt.Errorf("drop old backups: %w", err)
		}
	}
	return nil
}
