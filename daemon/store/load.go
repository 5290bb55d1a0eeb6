package store

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"

	"go.etcd.io/bbolt"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// Entries gives the book's entries in order of their sequence.
func (s *Store) Entries(ctx context.Context) ([]book.Entry, error) {
	all, err := load[book.Entry](ctx, s.book, entriesBucket)
	if err != nil {
		return nil, fmt.Errorf("read entries: %w", err)
	}
	return all, nil
}

// States gives the stored alert states in order of their Alert.
func (s *Store) States(ctx context.Context) ([]alerts.State, error) {
	all, err := load[alerts.State](ctx, s.book, statesBucket)
	if err != nil {
		return nil, fmt.Errorf("read alert states: %w", err)
	}
	return all, nil
}

// Outbox gives the notices not yet delivered everywhere, oldest first, and by
// destination the last id delivered.
func (s *Store) Outbox(ctx context.Context) ([]alerts.Notice, map[string]uint64, error) {
	notices, err := load[alerts.Notice](ctx, s.book, outboxBucket)
	if err != nil {
		return nil, nil, fmt.Errorf("read outbox: %w", err)
	}
	cursors := map[string]uint64{}
	err = s.book.each(ctx, cursorsBucket, func(key, payload []byte) error {
		if len(payload) != 8 {
			return errNumber
		}
		cursors[string(key)] = binary.BigEndian.Uint64(payload)
		return nil
	})
	if err != nil {
		return nil, nil, fmt.Errorf("read cursors: %w", err)
	}
	return notices, cursors, nil
}

// load decodes a bucket of JSON values in order of their keys.
func load[T any](ctx context.Context, b *bookFile, bucket string) ([]T, error) {
	var all []T
	err := b.each(ctx, bucket, func(_, payload []byte) error {
		var one T
		if err := json.Unmarshal(payload, &one); err != nil {
			return err
		}
		all = append(all, one)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return all, nil
}

// each shows the payloads of a bucket in order of their keys. The book is
// small: it is read in one transaction.
func (b *bookFile) each(ctx context.Context, bucket string,
	fn func(key, payload []byte) error,
) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return b.view(func(tx *bbolt.Tx) error {
		return tx.Bucket([]byte(bucket)).ForEach(func(key, value []byte) error {
			payload, err := unseal(bucket, key, value)
			if err == nil {
				err = fn(key, payload)
			}
			if err != nil {
				return fmt.Errorf("%s %x: %w", bucket, key, err)
			}
			return nil
		})
	})
}
