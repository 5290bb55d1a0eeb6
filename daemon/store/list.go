package store

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"go.etcd.io/bbolt"
)

// Probes lists every probe that has a history, by id. A year that cannot be
// opened is left out: Damage tells of it.
func (s *Store) Probes(ctx context.Context) ([]string, error) {
	all := map[string]bool{}
	for _, year := range s.history.yearsWithin(yearStart(firstYear), yearStart(lastYear+1)) {
		if err := ctx.Err(); err != nil {
			return nil, fmt.Errorf("list probes: %w", err)
		}
		_ = s.history.with(year, false, func(f *file) error {
			return f.view(func(tx *bbolt.Tx) error {
				for _, name := range names(tx) {
					all[name] = true
				}
				return nil
			})
		})
	}
	return slices.Sorted(maps.Keys(all)), nil
}
