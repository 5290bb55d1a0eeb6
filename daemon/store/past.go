package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"go.etcd.io/bbolt"

	"clutchd/alerts"
)

// A pastRow is a past occurrence on its way into the log.
type pastRow struct {
	occurrence   string
	key, payload []byte
}

// pastRows encodes before the transaction begins, so that it is short.
func pastRows(past []alerts.State) ([]pastRow, error) {
	var rows []pastRow
	for _, s := range past {
		row, err := rowOf(pastBucket, s, s.Occurrence != "")
		if err != nil {
			return nil, fmt.Errorf("past occurrence of %q: %w", s.Alert, err)
		}
		rows = append(rows, pastRow{s.Occurrence, pastKey(s.Raised, s.Occurrence), row.payload})
	}
	return rows, nil
}

// pastKey sorts as time does, then by occurrence.
func pastKey(raised time.Time, occurrence string) []byte {
	key := be64(uint64(raised.Unix()) ^ 1<<63) // the sign bit: times before 1970 come first
	key = append(key, be32(uint32(raised.Nanosecond()))...)
	return append(key, occurrence...)
}

// raisedSize is the length of the time in a pastKey.
const raisedSize = 8 + 4

// logPast brings the log up to date. An occurrence may come again with
// another time of raising: a clock was set under it.
func logPast(tx *bbolt.Tx, rows []pastRow, before time.Time) error {
	log := tx.Bucket([]byte(pastBucket))
	for _, r := range rows {
		was, err := getSealed(tx, raisedBucket, []byte(r.occurrence))
		if err != nil {
			return err
		}
		if string(was) != string(r.key) {
			if was != nil {
				if err := log.Delete(was); err != nil {
					return err
				}
			}
			if err := putSealed(tx, raisedBucket, []byte(r.occurrence), r.key); err != nil {
				return err
			}
		}
		if err := putSealed(tx, pastBucket, r.key, r.payload); err != nil {
			return err
		}
	}
	if before.IsZero() {
		return nil
	}
	return dropPast(tx, pastKey(before, ""))
}

// dropPast forgets the occurrences whose keys come before the given one.
func dropPast(tx *bbolt.Tx, before []byte) error {
	log, raised := tx.Bucket([]byte(pastBucket)), tx.Bucket([]byte(raisedBucket))
	var old [][]byte
	c := log.Cursor()
	for key, _ := c.First(); key != nil && string(key) < string(before); key, _ = c.Next() {
		old = append(old, key)
	}
	for _, key := range old {
		if len(key) > raisedSize {
			if err := raised.Delete(key[raisedSize:]); err != nil {
				return err
			}
		}
		if err := log.Delete(key); err != nil {
			return err
		}
	}
	return nil
}

// Past gives the occurrences raised in [from, to), as they last were, in order
// of when they were raised.
func (s *Store) Past(ctx context.Context, from, to time.Time) ([]alerts.State, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("read past alerts: %w", err)
	}
	var all []alerts.State
	end := string(pastKey(to, ""))
	err := s.book.view(func(tx *bbolt.Tx) error {
		c := tx.Bucket([]byte(pastBucket)).Cursor()
		key, value := c.Seek(pastKey(from, ""))
		for ; key != nil && string(key) < end; key, value = c.Next() {
			payload, err := unseal(pastBucket, key, value)
			var one alerts.State
			if err == nil {
				err = json.Unmarshal(payload, &one)
			}
			if err != nil {
				return fmt.Errorf("%s %x: %w", pastBucket, key, err)
			}
			all = append(all, one)
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read past alerts: %w", err)
	}
	return all, nil
}
