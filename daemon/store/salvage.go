package store

import (
	"bytes"
	"slices"
	"strings"

	"go.etcd.io/bbolt"
)

// salvageBatch is how many values are copied in one transaction.
const salvageBatch = 1000

// A piece is a value on its way from a damaged file into a sound one.
type piece struct {
	path       []string
	key, value []byte
}

// salvage copies the values of the file at source that can be read, belong to
// the layout and fit their checksums into f, and says how many.
func (l layout) salvage(f *file, source string) (int, error) {
	kept := 0
	var batch []piece
	var failed error
	flush := func() {
		if failed == nil && len(batch) > 0 {
			failed = f.update(func(tx *bbolt.Tx) error { return putPieces(tx, batch) })
			kept += len(batch)
		}
		batch = batch[:0]
	}
	_, err := walkFile(source, func(path []string, key, value []byte) {
		if failed != nil || !l.holds(path, key, value) {
			return
		}
		batch = append(batch, piece{slices.Clone(path), bytes.Clone(key), bytes.Clone(value)})
		if len(batch) == salvageBatch {
			flush()
		}
	})
	flush()
	if failed != nil {
		return 0, failed
	}
	return kept, err
}

// holds reports whether a value may stand in a file of this layout.
func (l layout) holds(path []string, key, value []byte) bool {
	if len(path) == 0 || !slices.Contains(l, path[0]) {
		return false
	}
	_, err := unseal(strings.Join(path, "/"), key, value)
	return err == nil
}

func putPieces(tx *bbolt.Tx, batch []piece) error {
	for _, p := range batch {
		b := tx.Bucket([]byte(p.path[0]))
		for _, name := range p.path[1:] {
			var err error
			if b, err = b.CreateBucketIfNotExists([]byte(name)); err != nil {
				return err
			}
		}
		b.FillPercent = tightly
		if err := b.Put(p.key, p.value); err != nil {
			return err
		}
	}
	return nil
}

// tightly fills pages to the brim: keys come in order.
const tightly = 1.0
