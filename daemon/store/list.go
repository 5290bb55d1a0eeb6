package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"go.etcd.io/bbolt"
)

// Probes lists every probe that has a history, by id. A year that cannot be
// read is left out, and Damage tells of it.
func (s *Store) Probes(ctx context.Context) ([]string, error) {
	all := map[string]bool{}
	for _, year := range s.history.yearsWithin(yearStart(firstYear), yearStart(lastYear+1)) {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("list probes: %w", err)
		}
		err := s.history.with(year, false, func(f *file) error {
			return f.view(func(tx *bbolt.Tx) error { return probesIn(tx, all) })
		})
		if err != nil {
			s.damage.tell("The readings of %d cannot be read: %v.", year, err)
		}
	}
	return slices.Sorted(maps.Keys(all)), nil
}

// probesIn adds the probes of a file: those of the dictionary, and those whose
// entry there was lost but who have blocks.
func probesIn(tx *bbolt.Tx, all map[string]bool) error {
	for _, name := range names(tx) {
		all[name] = true
	}
	return tx.Bucket([]byte(blocksBucket)).ForEachBucket(func(name []byte) error {
		all[string(name)] = true
		return nil
	})
}
