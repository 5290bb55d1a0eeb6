package store

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"time"

	"go.etcd.io/bbolt"

	"clutchd/incubation"
)

// Range gives a probe's readings in [from, to), oldest first, those still in
// rows included. A damaged block is yielded as an error and the range goes on
// behind it, as it does behind a year that cannot be opened. No transaction
// is open while a reading is with the caller, who may take as long as they
// like and call any method meanwhile; what is stored meanwhile may or may not
// be seen. If ctx ends, its error is yielded last.
func (s *Store) Range(ctx context.Context, probe string,
	from, to time.Time,
) iter.Seq2[incubation.Reading, error] {
	return func(yield func(incubation.Reading, error) bool) {
		r := ranger{h: s.history, probe: probe, from: ceil(from), to: ceil(to), yield: yield}
		for _, year := range s.history.yearsWithin(r.from, r.to) {
			if !r.year(ctx, year) {
				return
			}
		}
	}
}

// ceil gives the first whole second that is not before t, within the years
// that are stored.
func ceil(t time.Time) int64 {
	at := t.Unix()
	if t.Nanosecond() > 0 {
		at++
	}
	return min(max(at, yearStart(firstYear)), yearStart(lastYear+1))
}

// A ranger walks one probe's windows.
type ranger struct {
	h        *history
	probe    string
	from, to int64
	yield    func(incubation.Reading, error) bool
	u        unpacker
}

// A chunk is what one window holds of a probe, as stored.
type chunk struct {
	base   int64
	found  bool
	number uint32
	block  []byte
	keys   [][]byte
	rows   [][]byte
}

// year yields a year's readings; false: the caller wants no more.
func (r *ranger) year(ctx context.Context, year int) bool {
	at := floor(max(r.from, yearStart(year)), windowSeconds)
	end := min(r.to, yearStart(year+1))
	var lost lostStretch
	for at < end {
		if err := ctx.Err(); err != nil {
			r.yield(incubation.Reading{}, err)
			return false
		}
		var c chunk
		err := r.h.with(year, false, func(f *file) error { return f.view(c.read(r.probe, at)) })
		var damage *fault
		switch {
		case errors.As(err, &damage):
			lost.add(at, err)
			at += windowSeconds
			continue
		case err != nil:
			err = fmt.Errorf("readings of %s in %d: %w", r.probe, year, err)
			return r.yield(incubation.Reading{}, err)
		}
		if !lost.tell(r, at) {
			return false
		}
		if !c.found || c.base >= end {
			return true
		}
		if !r.window(&c) {
			return false
		}
		at = c.base + windowSeconds
	}
	return lost.tell(r, end)
}

// A lostStretch is neighbouring windows that could not be read: one error.
type lostStretch struct {
	from int64
	err  error
}

func (l *lostStretch) add(at int64, err error) {
	if l.err == nil {
		l.from, l.err = at, err
	}
}

// tell yields the stretch, which ended at the given second, if there is one.
func (l *lostStretch) tell(r *ranger, to int64) bool {
	if l.err == nil {
		return true
	}
	err := fmt.Errorf("readings of %s from %s to %s: %w", r.probe, clock(l.from), clock(to), l.err)
	l.err = nil
	r.h.cfg.damage.tell("%s: its readings from %s on cannot be read.",
		yearName(yearOf(l.from)), clock(l.from))
	return r.yield(incubation.Reading{}, err)
}

// read gives a function that copies the first window at or behind at that
// holds anything of the probe.
func (c *chunk) read(probe string, at int64) func(*bbolt.Tx) error {
	return func(tx *bbolt.Tx) error {
		*c = chunk{number: numberOf(tx, probe)}
		c.seekBlock(tx, probe, at)
		if c.number != 0 {
			c.seekRows(tx, at)
		}
		return nil
	}
}

func (c *chunk) seekBlock(tx *bbolt.Tx, probe string, at int64) {
	b := tx.Bucket([]byte(blocksBucket)).Bucket([]byte(probe))
	if b == nil {
		return
	}
	key, value := b.Cursor().Seek(blockKey(at))
	if len(key) != 8 {
		return
	}
	c.base, c.found = blockBase(key), true
	c.block = bytes.Clone(value)
}

// seekRows takes the rows of the block's window, or of an earlier one.
func (c *chunk) seekRows(tx *bbolt.Tx, at int64) {
	cur := tx.Bucket([]byte(rowsBucket)).Cursor()
	for key, value := cur.Seek(rowKeys{}.of(at)); key != nil; key, value = cur.Next() {
		base, ok := rowKeys{}.base(key)
		if !ok || c.found && base >= c.base+windowSeconds {
			return
		}
		if w := floor(base, windowSeconds); !c.found || w < c.base {
			*c = chunk{base: w, found: true, number: c.number}
		}
		c.keys = append(c.keys, bytes.Clone(key))
		c.rows = append(c.rows, bytes.Clone(value))
	}
}

// window yields the readings of one window.
func (r *ranger) window(c *chunk) bool {
	var packed, staged []sample
	if c.block != nil {
		var err error
		if packed, err = r.u.open(r.probe, c.base, c.block); err != nil {
			what := blockName(r.probe, c.base)
			r.h.cfg.damage.tell("%s: %s cannot be read.", yearName(yearOf(c.base)), what)
			if !r.yield(incubation.Reading{}, fmt.Errorf("%s: %w", what, err)) {
				return false
			}
		}
	}
	for i, key := range c.keys {
		at, _ := rowKeys{}.base(key)
		found, err := spot{key, at}.read(c.rows[i], c.number)
		if err != nil {
			r.h.cfg.damage.tell("%s: the minute %s cannot be read.", yearName(yearOf(at)), clock(at))
			err = fmt.Errorf("readings of minute %s: %w", clock(at), err)
			if !r.yield(incubation.Reading{}, err) {
				return false
			}
		}
		for _, g := range found {
			staged = append(staged, g.samples...)
		}
	}
	return r.samples(merge(packed, staged))
}

func (r *ranger) samples(all []sample) bool {
	from, to := secondIn(all, r.from), secondIn(all, r.to)
	for i := from; i < to; i++ {
		if !r.yield(all[i].reading(r.probe), nil) {
			return false
		}
	}
	return true
}

// secondIn gives the first sample not before a second.
func secondIn(all []sample, second int64) int {
	i, _ := slices.BinarySearchFunc(all, second, func(s sample, second int64) int {
		return cmp.Compare(s.at, second)
	})
	return i
}
