package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"go.etcd.io/bbolt"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// maxID keeps ids exact in JSON readers that know only floating point.
const maxID = 1 << 53

// Reserve sets n ids aside for ever and returns the first. Ids begin at 1.
func (s *Store) Reserve(ctx context.Context, n uint64) (first uint64, err error) {
	err = s.book.write(ctx, func(tx *bbolt.Tx) error {
		if first, err = nextID(tx); err != nil {
			return err
		}
		if n == 0 || n > maxID || first+n > maxID {
			return fmt.Errorf("%d more than %d cannot be had", n, first)
		}
		return putSealed(tx, idsBucket, idsKey, be64(first+n))
	})
	if err != nil {
		return 0, fmt.Errorf("reserve ids: %w", err)
	}
	return first, nil
}

// CommitBook writes entries and what changed about the alerts in one
// transaction and returns when they are on the disk. An entry or notice whose
// id is stored already changes nothing; a state replaces the stored one of the
// same alert, a past one that of the same occurrence.
func (s *Store) CommitBook(ctx context.Context, entries []book.Entry, c alerts.Changes) error {
	rows, err := rowsOf(entries, c)
	if err != nil {
		return fmt.Errorf("commit book: %w", err)
	}
	past, err := pastRows(c.Past)
	if err != nil {
		return fmt.Errorf("commit book: %w", err)
	}
	err = s.book.write(ctx, func(tx *bbolt.Tx) error {
		for _, alert := range c.Forget {
			if err := tx.Bucket([]byte(statesBucket)).Delete([]byte(alert)); err != nil {
				return err
			}
		}
		for _, r := range rows {
			if err := r.put(tx); err != nil {
				return err
			}
		}
		return logPast(tx, past, c.DropPast)
	})
	if err != nil {
		return fmt.Errorf("commit book: %w", err)
	}
	return nil
}

// A bookRow is a value on its way into book.db.
type bookRow struct {
	bucket       string
	key, payload []byte
	replace      bool
}

// rowsOf encodes before the transaction begins, so that it is short.
func rowsOf(entries []book.Entry, c alerts.Changes) (rows []bookRow, err error) {
	for _, e := range entries {
		e.At, e.Made = e.At.UTC(), e.Made.UTC()
		row, err := rowOf(entriesBucket, e, e.Seq != 0)
		if err != nil {
			return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
		}
		row.key = be64(e.Seq)
		rows = append(rows, row)
	}
	for _, st := range c.States {
		row, err := rowOf(statesBucket, st, st.Alert != "")
		if err != nil {
			return nil, fmt.Errorf("state of %q: %w", st.Alert, err)
		}
		row.key, row.replace = []byte(st.Alert), true
		rows = append(rows, row)
	}
	for _, n := range c.Notices {
		row, err := rowOf(outboxBucket, n, n.ID != 0)
		if err != nil {
			return nil, fmt.Errorf("notice %d: %w", n.ID, err)
		}
		row.key = be64(n.ID)
		rows = append(rows, row)
	}
	return rows, nil
}

var errNoID = errors.New("it has no id")

func rowOf(bucket string, what any, named bool) (bookRow, error) {
	if !named {
		return bookRow{}, errNoID
	}
	payload, err := json.Marshal(what)
	return bookRow{bucket: bucket, payload: payload}, err
}

func (r bookRow) put(tx *bbolt.Tx) error {
	if !r.replace && tx.Bucket([]byte(r.bucket)).Get(r.key) != nil {
		return nil
	}
	return putSealed(tx, r.bucket, r.key, r.payload)
}

// Delivered moves a destination's cursor past notice id, never back, and
// drops the notices that every destination in dests has passed. No dests:
// none is dropped.
func (s *Store) Delivered(ctx context.Context, destination string, id uint64,
	dests []string,
) error {
	if destination == "" {
		return errors.New("note delivery: no destination")
	}
	err := s.book.write(ctx, func(tx *bbolt.Tx) error {
		key := []byte(destination)
		at, err := getNumber(tx, cursorsBucket, key)
		if err != nil {
			return err
		}
		if id > at {
			if err := putSealed(tx, cursorsBucket, key, be64(id)); err != nil {
				return err
			}
		}
		return dropPassed(tx, dests)
	})
	if err != nil {
		return fmt.Errorf("note delivery to %s: %w", destination, err)
	}
	return nil
}

func dropPassed(tx *bbolt.Tx, dests []string) error {
	if len(dests) == 0 {
		return nil
	}
	passed := uint64(maxID)
	for _, d := range dests {
		at, err := getNumber(tx, cursorsBucket, []byte(d))
		if err != nil {
			return err
		}
		passed = min(passed, at)
	}
	return deleteUpTo(tx.Bucket([]byte(outboxBucket)), be64(passed))
}

// deleteUpTo deletes the keys up to and including last.
func deleteUpTo(b *bbolt.Bucket, last []byte) error {
	var passed [][]byte
	c := b.Cursor()
	for key, _ := c.First(); key != nil && string(key) <= string(last); key, _ = c.Next() {
		passed = append(passed, key)
	}
	for _, key := range passed {
		if err := b.Delete(key); err != nil {
			return err
		}
	}
	return nil
}

// write runs fn in a write transaction unless ctx has ended. A transaction
// once begun is not broken off.
func (b *bookFile) write(ctx context.Context, fn func(*bbolt.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return b.update(fn)
}
