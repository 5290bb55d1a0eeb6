package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
)

// A schema is the layout of a kind of file as this program writes it: the
// buckets and their keys. It changes only together with a migration from the
// one before. Each kind has its own, so that a change of the book copies no
// year of readings.
type schema struct {
	version uint32
	steps   map[uint32]migration // to each version after the first
}

var (
	bookSchema    = schema{version: 2, steps: map[uint32]migration{2: addPast}}
	historySchema = schema{version: 1}
	untimedSchema = schema{version: 1}
)

// under gives the schema as the options have it.
func (s schema) under(o Options) schema {
	if o.later == nil {
		return s
	}
	later := schema{version: s.version + 1, steps: maps.Clone(s.steps)}
	if later.steps == nil {
		later.steps = map[uint32]migration{}
	}
	later.steps[later.version] = o.later
	return later
}

// addPast makes room for the log of past occurrences, which the first books
// did not keep.
func addPast(tx *bbolt.Tx) error {
	for _, name := range []string{pastBucket, raisedBucket} {
		if _, err := tx.CreateBucketIfNotExists([]byte(name)); err != nil {
			return fmt.Errorf("make bucket %s: %w", name, err)
		}
	}
	return nil
}

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
	bookLayout = layout{
		entriesBucket, statesBucket, outboxBucket, cursorsBucket, idsBucket, pastBucket, raisedBucket,
	}
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
func (c fileConfig) migrate(f *file, to schema, has uint32) error {
	if has == to.version {
		return nil
	}
	if err := f.copyTo(c.backupName(filepath.Base(f.path), time.Now())); err != nil {
		return fmt.Errorf("back up before migration: %w", err)
	}
	for v := has + 1; v <= to.version; v++ {
		step := to.steps[v]
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
