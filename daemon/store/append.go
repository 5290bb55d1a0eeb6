package store

import (
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"clutchd/incubation"
)

// The buckets of a history file.
const (
	probesBucket  = "probes"  // by number: the probe's name
	rowsBucket    = "minutes" // by minute: a row, until it is packed
	blocksBucket  = "blocks"  // by probe a bucket, in it by first minute: a block
	damagedBucket = "damaged" // rows and blocks that do not fit their checksum
)

const (
	maxName   = 200 // bytes of a probe's name
	firstYear = 1970
	lastYear  = 9999
)

// Append stores readings, in any order, from several probes. A reading of a
// probe and second that is stored already replaces it. A long list is written
// in several transactions, oldest first; after an error it may be written
// again as a whole. A reading that can never be stored (no name, no quantity,
// no number, a time outside 1970 to 9999) is left out and logged.
func (s *Store) Append(ctx context.Context, readings []incubation.Reading) error {
	if err := s.history.append(ctx, s.timed(readings)); err != nil {
		return fmt.Errorf("store readings: %w", err)
	}
	return nil
}

// A named sample is a sample and the probe it came from.
type named struct {
	probe string
	sample
}

// timed gives the samples of readings.
func (s *Store) timed(readings []incubation.Reading) []named {
	all := make([]named, 0, len(readings))
	for _, r := range readings {
		smp, why := sampleOf(r, r.Time.Unix())
		if year := r.Time.UTC().Year(); year < firstYear || year > lastYear {
			why = "its time is out of bounds"
		}
		if why != "" {
			s.refuse(r, why)
			continue
		}
		all = append(all, named{r.Probe, smp})
	}
	return all
}

func (s *Store) refuse(r incubation.Reading, why string) {
	s.damage.log.Warn("reading cannot be stored", "probe", r.Probe, "time", r.Time, "why", why)
}

// append writes samples window by window, each in a transaction, and packs
// behind them.
func (h *history) append(ctx context.Context, all []named) error {
	h.writing.Lock()
	defer h.writing.Unlock()
	all = inOrder(all)
	for len(all) > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		base := floor(all[0].at, windowSeconds)
		n := before(all, base+windowSeconds)
		if err := h.put(all[:n]); err != nil {
			return err
		}
		h.saw(all[n-1].at)
		all = all[n:]
		if err := h.pack(ctx); err != nil {
			return err
		}
	}
	return nil
}

// put writes samples of one window. If the file breaks under it, it is tried
// once more on the one that takes its place.
func (h *history) put(all []named) error {
	write := func() error {
		return h.with(yearOf(all[0].at), true, func(f *file) error {
			return f.update(func(tx *bbolt.Tx) error { return putSamples(tx, rowKeys{}, all) })
		})
	}
	err := write()
	var damage *fault
	if errors.As(err, &damage) {
		err = write()
	}
	return err
}

// inOrder sorts samples by time and probe and drops those that a later one of
// the same probe and second replaces.
func inOrder(all []named) []named {
	all = slices.Clone(all)
	order := func(a, b named) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.probe, b.probe))
	}
	slices.SortStableFunc(all, order)
	kept := all[:0]
	for i, one := range all {
		if i+1 == len(all) || order(one, all[i+1]) != 0 {
			kept = append(kept, one)
		}
	}
	return kept
}

// before gives the number of samples before the second end.
func before(all []named, end int64) int {
	n, _ := slices.BinarySearchFunc(all, end, func(a named, end int64) int {
		return cmp.Compare(a.at, end)
	})
	return n
}

func floor(at, step int64) int64 { return at - ((at%step)+step)%step }

// rowKeys makes the keys of rows: the minute, behind a prefix where one file
// counts minutes from several beginnings.
type rowKeys struct{ prefix []byte }

func (k rowKeys) of(base int64) []byte {
	return append(slices.Clone(k.prefix), be64(uint64(base/minuteSeconds))...)
}

// base gives the first second of the row under a key.
func (k rowKeys) base(key []byte) (int64, bool) {
	rest := key[min(len(k.prefix), len(key)):]
	if len(rest) != 8 || string(key[:len(k.prefix)]) != string(k.prefix) {
		return 0, false
	}
	minute := binary.BigEndian.Uint64(rest)
	return int64(minute) * minuteSeconds, minute < 1<<40
}

// putSamples adds samples, in order of time, to the rows of their minutes.
func putSamples(tx *bbolt.Tx, keys rowKeys, all []named) error {
	numbers, err := numberProbes(tx, all)
	if err != nil {
		return err
	}
	rows := tx.Bucket([]byte(rowsBucket))
	rows.FillPercent = tightly
	for len(all) > 0 {
		base := floor(all[0].at, minuteSeconds)
		n := before(all, base+minuteSeconds)
		if err := putRow(tx, spot{keys.of(base), base}, groups(all[:n], numbers)); err != nil {
			return err
		}
		all = all[n:]
	}
	return nil
}

// groups gives the samples of one minute as a row.
func groups(all []named, numbers map[string]uint32) row {
	byProbe := map[uint32][]sample{}
	for _, one := range all {
		number := numbers[one.probe]
		byProbe[number] = append(byProbe[number], one.sample)
	}
	var r row
	for _, number := range slices.Sorted(maps.Keys(byProbe)) {
		r = append(r, group{number, byProbe[number]})
	}
	return r
}

// A spot is where a row lies: its key and the first second of its minute.
type spot struct {
	key  []byte
	base int64
}

// putRow writes a row over the one in its place.
func putRow(tx *bbolt.Tx, at spot, over row) error {
	old, err := at.read(tx.Bucket([]byte(rowsBucket)).Get(at.key), 0)
	if err != nil {
		if err := condemn(tx, rowsBucket, at.key); err != nil {
			return err
		}
	}
	for _, g := range over {
		old = old.with(g.probe, g.samples)
	}
	return putSealed(tx, rowsBucket, at.key, appendRow(nil, at.base, old))
}

// read decodes the row stored there; no value, an empty row. only is as for
// parseRow.
func (at spot) read(value []byte, only uint32) (row, error) {
	if value == nil {
		return nil, nil
	}
	payload, err := unseal(rowsBucket, at.key, value)
	if err != nil {
		return nil, err
	}
	return parseRow(payload, at.base, only)
}

// condemn moves a value that cannot be read out of the way of a new one, so
// that nothing is lost that a person might still decipher.
func condemn(tx *bbolt.Tx, bucket string, key []byte) error {
	value := tx.Bucket([]byte(bucket)).Get(key)
	damaged, err := tx.CreateBucketIfNotExists([]byte(damagedBucket))
	if err != nil {
		return err
	}
	name := append([]byte(bucket+" "), key...)
	return damaged.Put(name, slices.Clone(value))
}

// Newest is the time of the newest stored reading, zero if there is none.
// Readings that wait for their true time do not count. It does not touch the
// disk.
func (s *Store) Newest(ctx context.Context) (time.Time, error) {
	at := s.history.newestAt()
	if at == 0 {
		return time.Time{}, ctx.Err()
	}
	return time.Unix(at, 0).UTC(), ctx.Err()
}
