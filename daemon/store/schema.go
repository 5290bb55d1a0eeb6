package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
)

// schema is the layout of the files that this program writes: the buckets and
// their keys. It changes only together with a migration from the one before.
const schema = 1

const metaBucket = "meta"

var (
	schemaKey   = []byte("schema")
	errNoSchema = errors.New("it says nothing of its schema")
)

// A migration brings a file from the schema before to its own.
type migration func(*bbolt.Tx) error

// A layout is a kind of file: its top-level buckets besides meta.
type layout []string

// found in this order in a fresh file.
var (
	bookLayout    = layout{entriesBucket, statesBucket, outboxBucket, cursorsBucket, idsBucket}
	historyLayout = layout{probesBucket, rowsBucket, blocksBucket, damagedBucket}
	untimedLayout = layout{probesBucket, bootsBucket, rowsBucket}
)

// lay makes the buckets of a fresh file and writes its schema.
func (l layout) lay(tx *bbolt.Tx, version uint32) error {
	for _, name := range append(layout{metaBucket}, l...) {
		if _, err := tx.CreateBucketIfNotExists([]byte(name)); err != nil {
			return fmt.Errorf("make bucket %s: %w", name, err)
		}
	}
	return putSchema(tx, version)
}

func putSchema(tx *bbolt.Tx, version uint32) error {
	return tx.Bucket([]byte(metaBucket)).
		Put(schemaKey, seal(metaBucket, schemaKey, be32(version)))
}

// schemaOf reads the sealed schema number.
func schemaOf(value []byte) (uint32, error) {
	payload, err := unseal(metaBucket, schemaKey, value)
	if err != nil || len(payload) != 4 {
		return 0, errNoSchema
	}
	return binary.BigEndian.Uint32(payload), nil
}

// migrate brings an open file from the schema it has to the present one, each
// step in a transaction of its own. A copy of the file as it was is laid
// beside it first.
func (c fileConfig) migrate(f *file, has uint32) error {
	if has == c.schema {
		return nil
	}
	if err := f.copyTo(c.backupName(filepath.Base(f.path), time.Now())); err != nil {
		return fmt.Errorf("back up before migration: %w", err)
	}
	for v := has + 1; v <= c.schema; v++ {
		step := c.steps[v]
		if step == nil {
			return fmt.Errorf("migrate %s: nothing leads to schema %d", filepath.Base(f.path), v)
		}
		err := f.update(func(tx *bbolt.Tx) error {
			if err := step(tx); err != nil {
				return err
			}
			return putSchema(tx, v)
		})
		if err != nil {
			return fmt.Errorf("migrate %s to schema %d: %w", filepath.Base(f.path), v, err)
		}
	}
	return nil
}
