package store

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"time"

	"go.etcd.io/bbolt"
)

// packLag is how far the newest reading must be past the end of a window
// before it is packed: what comes a little late then still finds its row.
const packLag = int64(2 * time.Hour / time.Second)

// pack packs at most one complete window of each open year. The work is done
// between two short transactions; the caller holds writing, so nothing
// changes meanwhile.
func (h *history) pack(ctx context.Context) error {
	h.gate.RLock()
	years := h.openYears()
	h.gate.RUnlock()
	for _, year := range years {
		if err := ctx.Err(); err != nil {
			return err
		}
		err := h.with(year, false, h.packOldest)
		if err != nil && !errors.Is(err, errNoYear) && !errors.Is(err, errBroken) {
			return fmt.Errorf("pack readings of %d: %w", year, err)
		}
	}
	return nil
}

// A bundle is all that packing one window needs.
type bundle struct {
	base   int64
	rows   map[string][]byte // by key
	blocks map[string][]byte // by probe: what an earlier packing left
	names  map[uint32]string
}

func (h *history) packOldest(f *file) error {
	var b *bundle
	err := f.view(func(tx *bbolt.Tx) (err error) {
		b, err = gather(tx, h.newestAt()-packLag)
		return err
	})
	var damage *fault
	if errors.As(err, &damage) {
		// The readings are stored; the next ones find a mended file.
		f.broken.Store(true)
		h.cfg.damage.tell("%s cannot be read (%v).", filepath.Base(f.path), err)
		return nil
	}
	if err != nil || b == nil {
		return err
	}
	packed, damaged, err := h.packBundle(b)
	if err != nil {
		return err
	}
	for _, what := range damaged {
		h.cfg.damage.tell("%s: %s cannot be read and was set aside.", yearName(yearOf(b.base)), what)
	}
	return f.update(func(tx *bbolt.Tx) error { return b.put(tx, packed) })
}

// gather reads the oldest window that has rows, if it ended by then.
func gather(tx *bbolt.Tx, then int64) (*bundle, error) {
	c := tx.Bucket([]byte(rowsBucket)).Cursor()
	key, value := c.First()
	oldest, ok := rowKeys{}.base(key)
	for ; key != nil && !ok; oldest, ok = (rowKeys{}).base(key) {
		key, value = c.Next()
	}
	base := floor(oldest, windowSeconds)
	if key == nil || base+windowSeconds > then {
		return nil, nil
	}
	b := &bundle{base: base, names: names(tx), rows: map[string][]byte{}, blocks: map[string][]byte{}}
	for ; key != nil; key, value = c.Next() {
		if at, ok := (rowKeys{}).base(key); !ok || at >= base+windowSeconds {
			break
		}
		b.rows[string(key)] = bytes.Clone(value)
	}
	blocks := tx.Bucket([]byte(blocksBucket))
	for _, name := range b.names {
		if probe := blocks.Bucket([]byte(name)); probe != nil {
			if block := probe.Get(blockKey(base)); block != nil {
				b.blocks[name] = bytes.Clone(block)
			}
		}
	}
	return b, nil
}

func blockKey(base int64) []byte { return be64(uint64(base / minuteSeconds)) }

// blockBase gives the first second of the block under a key of 8 bytes.
func blockBase(key []byte) int64 { return int64(binary.BigEndian.Uint64(key)) * minuteSeconds }

// packBundle gives the window's new blocks by probe, and what of the old
// could not be read.
func (h *history) packBundle(b *bundle) (packed map[string][]byte, damaged []string, err error) {
	fresh, damaged := b.byProbe()
	packed = map[string][]byte{}
	var u unpacker
	for _, name := range slices.Sorted(maps.Keys(fresh)) {
		samples := fresh[name]
		if block := b.blocks[name]; block != nil {
			old, err := u.open(name, b.base, block)
			if err != nil {
				damaged = append(damaged, blockName(name, b.base))
			} else {
				delete(b.blocks, name) // what is left there is condemned
				samples = merge(old, samples)
			}
		}
		if packed[name], err = h.packer.pack(b.base, samples); err != nil {
			return nil, nil, err
		}
	}
	maps.DeleteFunc(b.blocks, func(name string, _ []byte) bool { return fresh[name] == nil })
	return packed, damaged, nil
}

// byProbe gives the samples of the rows, in order. Rows that cannot be read
// are named; the others are taken out of b.rows' values, so that only the
// damaged are left there to be condemned.
func (b *bundle) byProbe() (fresh map[string][]sample, damaged []string) {
	fresh = map[string][]sample{}
	for _, key := range slices.Sorted(maps.Keys(b.rows)) {
		at, _ := rowKeys{}.base([]byte(key))
		r, err := spot{[]byte(key), at}.read(b.rows[key], 0)
		if err != nil {
			damaged = append(damaged, "the minute "+clock(at))
			continue
		}
		b.rows[key] = nil
		for _, g := range r {
			name := b.names[g.probe]
			if name == "" {
				name = fmt.Sprintf("unnamed-%d", g.probe)
			}
			fresh[name] = append(fresh[name], g.samples...)
		}
	}
	return fresh, damaged
}

// put writes the packed blocks, drops the rows they came from and condemns
// what could not be read.
func (b *bundle) put(tx *bbolt.Tx, packed map[string][]byte) error {
	for _, key := range slices.Sorted(maps.Keys(b.rows)) { // the same file every time
		if b.rows[key] != nil {
			if err := condemn(tx, rowsBucket, []byte(key)); err != nil {
				return err
			}
		}
		if err := tx.Bucket([]byte(rowsBucket)).Delete([]byte(key)); err != nil {
			return err
		}
	}
	blocks := tx.Bucket([]byte(blocksBucket))
	for _, name := range slices.Sorted(maps.Keys(packed)) {
		probe, err := blocks.CreateBucketIfNotExists([]byte(name))
		if err != nil {
			return err
		}
		if old := b.blocks[name]; old != nil {
			key := append([]byte(blocksBucket+"/"+name+" "), blockKey(b.base)...)
			if err := tx.Bucket([]byte(damagedBucket)).Put(key, old); err != nil {
				return err
			}
		}
		probe.FillPercent = tightly
		key := blockKey(b.base)
		if err := probe.Put(key, seal(blocksBucket+"/"+name, key, packed[name])); err != nil {
			return err
		}
	}
	return nil
}

// open gives the samples of a stored block. They are overwritten by the next.
func (u *unpacker) open(probe string, base int64, value []byte) ([]sample, error) {
	payload, err := unseal(blocksBucket+"/"+probe, blockKey(base), value)
	if err != nil {
		return nil, err
	}
	return u.unpack(payload, base)
}

func blockName(probe string, base int64) string {
	return fmt.Sprintf("the block of %s from %s to %s", probe, clock(base), clock(base+windowSeconds))
}

// clock gives a second as people read it.
func clock(second int64) string { return time.Unix(second, 0).UTC().Format("2006-01-02 15:04Z") }

// newestIn gives the second of the newest reading in a file, 0 if it has
// none. What cannot be read is passed over.
func newestIn(f *file) (int64, error) {
	newest := int64(0)
	err := f.view(func(tx *bbolt.Tx) error {
		c := tx.Bucket([]byte(rowsBucket)).Cursor()
		for key, value := c.Last(); key != nil && newest == 0; key, value = c.Prev() {
			if at, ok := (rowKeys{}).base(key); ok {
				r, _ := spot{key, at}.read(value, 0)
				for _, g := range r {
					newest = max(newest, g.samples[len(g.samples)-1].at)
				}
			}
		}
		var u unpacker
		blocks := tx.Bucket([]byte(blocksBucket))
		return blocks.ForEachBucket(func(name []byte) error {
			newest = max(newest, u.newestBlock(string(name), blocks.Bucket(name)))
			return nil
		})
	})
	return newest, err
}

// newestBlock gives the last second of a probe's newest readable block.
func (u *unpacker) newestBlock(probe string, b *bbolt.Bucket) int64 {
	c := b.Cursor()
	for key, value := c.Last(); key != nil; key, value = c.Prev() {
		if len(key) != 8 {
			continue
		}
		if samples, err := u.open(probe, blockBase(key), value); err == nil {
			return samples[len(samples)-1].at
		}
	}
	return 0
}
