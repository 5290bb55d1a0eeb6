package store

import (
	"slices"
	"time"

	"go.etcd.io/bbolt"
)

// PayloadBytes gives the length of all packed blocks.
func (s *Store) PayloadBytes() (int, error) {
	total := 0
	for _, year := range s.history.yearsWithin(yearStart(firstYear), yearStart(lastYear)) {
		err := s.history.with(year, false, func(f *file) error {
			return f.view(func(tx *bbolt.Tx) error {
				blocks := tx.Bucket([]byte(blocksBucket))
				return blocks.ForEachBucket(func(name []byte) error {
					return blocks.Bucket(name).ForEach(func(_, value []byte) error {
						total += len(value)
						return nil
					})
				})
			})
		})
		if err != nil {
			return 0, err
		}
	}
	return total, nil
}

// WithNoSync gives options under which nothing is synced, if off.
func WithNoSync(off bool) Options { return Options{noSync: off} }

// WithLater gives options of a program that knows one more version of every
// schema, to which step leads.
func WithLater(step func(*bbolt.Tx) error) Options { return Options{later: step} }

// BreakBlock changes a byte of the probe's block of the window around at.
func (s *Store) BreakBlock(probe string, at time.Time) error {
	return s.history.with(at.Year(), false, func(f *file) error {
		return f.update(func(tx *bbolt.Tx) error {
			b := tx.Bucket([]byte(blocksBucket)).Bucket([]byte(probe))
			key := blockKey(floor(at.Unix(), windowSeconds))
			value := slices.Clone(b.Get(key))
			value[len(value)-1] ^= 1
			return b.Put(key, value)
		})
	})
}

// ToFirstSchema makes a book what the first program wrote: no log of past
// occurrences.
func ToFirstSchema(tx *bbolt.Tx) error {
	for _, name := range []string{pastBucket, raisedBucket} {
		if err := tx.DeleteBucket([]byte(name)); err != nil {
			return err
		}
	}
	return putSchema(tx, 1)
}
