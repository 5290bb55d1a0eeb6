package store

import "go.etcd.io/bbolt"

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
