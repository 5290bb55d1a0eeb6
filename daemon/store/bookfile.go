package store

import (
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"go.etcd.io/bbolt"
)

const bookName = "book.db"

// The buckets of book.db.
const (
	entriesBucket = "entries" // by sequence
	statesBucket  = "states"  // by alert
	outboxBucket  = "outbox"  // by notice id
	cursorsBucket = "cursors" // by destination: the last notice id delivered
	idsBucket     = "ids"     // idsKey: the first id not yet set aside
	pastBucket    = "past"    // past occurrences, by when they were raised; see pastKey
	raisedBucket  = "raised"  // by occurrence: its key in pastBucket
)

var idsKey = []byte("next")

// A bookFile is book.db.
type bookFile struct{ *file }

func openBook(c fileConfig) (*bookFile, error) {
	f, err := c.open(kind{
		name: bookName, layout: bookLayout, schema: bookSchema, backed: true, check: allSealed{},
		renewed: skipIDs,
	})
	if err != nil {
		return nil, hinted(err)
	}
	return &bookFile{f}, nil
}

// allSealed condemns a file for any value that does not fit its checksum.
type allSealed struct{}

func (allSealed) done() error { return nil }

func (allSealed) value(bucket string, key, value []byte) error {
	if _, err := unseal(bucket, key, value); err != nil && bucket != damagedBucket {
		return fmt.Errorf("%s %x: %w", bucket, key, err)
	}
	return nil
}

// hinted adds how to mend it to an error that keeps the book from opening.
func hinted(err error) error {
	if Hint(err) != "" {
		return err
	}
	return &told{
		what: "open book: " + err.Error(),
		hint: "Make sure that the disk is not full and the folder can be written, then start again.",
		is:   err,
	}
}

// skippedIDs is how far a book that came from a backup jumps ahead: more ids
// than a room uses between two backups.
const skippedIDs = 1 << 20

// skipIDs makes sure that a book begun in place of a damaged one gives no id
// again. What the damaged one had given may be lost; one id a second since
// 1970 is more than any room uses.
func skipIDs(tx *bbolt.Tx) error {
	next, err := nextID(tx)
	if err != nil {
		next = 1
	}
	next = max(next+skippedIDs, uint64(max(time.Now().Unix(), 0)))
	return putSealed(tx, idsBucket, idsKey, be64(next))
}

// putSealed puts a sealed value into a top-level bucket.
func putSealed(tx *bbolt.Tx, bucket string, key, payload []byte) error {
	return tx.Bucket([]byte(bucket)).Put(key, seal(bucket, key, payload))
}

// getSealed gives the payload under key, nil if there is none.
func getSealed(tx *bbolt.Tx, bucket string, key []byte) ([]byte, error) {
	value := tx.Bucket([]byte(bucket)).Get(key)
	if value == nil {
		return nil, nil
	}
	payload, err := unseal(bucket, key, value)
	if err != nil {
		return nil, fmt.Errorf("%s %x: %w", bucket, key, err)
	}
	return payload, nil
}

var errNumber = errors.New("not a number")

// getNumber gives the number under key, 0 if there is none.
func getNumber(tx *bbolt.Tx, bucket string, key []byte) (uint64, error) {
	payload, err := getSealed(tx, bucket, key)
	if err != nil || payload == nil {
		return 0, err
	}
	if len(payload) != 8 {
		return 0, fmt.Errorf("%s %x: %w", bucket, key, errNumber)
	}
	return binary.BigEndian.Uint64(payload), nil
}

// nextID gives the first id not yet set aside. Ids begin at 1.
func nextID(tx *bbolt.Tx) (uint64, error) {
	next, err := getNumber(tx, idsBucket, idsKey)
	return max(next, 1), err
}
