package store

import (
	"encoding/binary"
	"fmt"
	"math"

	"go.etcd.io/bbolt"
)

// names reads a file's dictionary: probes by number. An entry that cannot be
// read is left out; its number is not given again.
func names(tx *bbolt.Tx) map[uint32]string {
	all := map[uint32]string{}
	c := tx.Bucket([]byte(probesBucket)).Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		if name, err := unseal(probesBucket, key, value); err == nil && len(key) == 4 {
			all[binary.BigEndian.Uint32(key)] = string(name)
		}
	}
	return all
}

// numberOf gives a probe's number, 0 if the file does not know it.
func numberOf(tx *bbolt.Tx, probe string) uint32 {
	for number, name := range names(tx) {
		if name == probe {
			return number
		}
	}
	return 0
}

// numberProbes gives the number of every probe among the samples, entering
// new ones.
func numberProbes(tx *bbolt.Tx, all []named) (map[string]uint32, error) {
	numbers := map[string]uint32{}
	for number, name := range names(tx) {
		numbers[name] = number
	}
	for _, one := range all {
		if numbers[one.probe] != 0 {
			continue
		}
		number, err := newNumber(tx.Bucket([]byte(probesBucket)))
		if err != nil {
			return nil, fmt.Errorf("number probe %s: %w", one.probe, err)
		}
		if err := putSealed(tx, probesBucket, be32(number), []byte(one.probe)); err != nil {
			return nil, fmt.Errorf("number probe %s: %w", one.probe, err)
		}
		numbers[one.probe] = number
	}
	return numbers, nil
}

// newNumber gives a number above every key, never 0.
func newNumber(b *bbolt.Bucket) (uint32, error) {
	last := uint32(0)
	if key, _ := b.Cursor().Last(); len(key) == 4 {
		last = binary.BigEndian.Uint32(key)
	}
	next := max(uint64(last), b.Sequence()) + 1
	if next > math.MaxUint32 {
		return 0, errNumber
	}
	return uint32(next), b.SetSequence(next)
}

// skipNumbers is called on a dictionary that may have lost entries: what
// stands under a lost number must not be taken for a new one's.
func skipNumbers(tx *bbolt.Tx, dictionary string) error {
	b := tx.Bucket([]byte(dictionary))
	number, err := newNumber(b)
	if err != nil {
		return err
	}
	return b.SetSequence(uint64(number) + skippedNumbers)
}

// skippedNumbers is more than one dictionary holds.
const skippedNumbers = 10_000
