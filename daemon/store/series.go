package store

import (
	"encoding/binary"
	"errors"
	"slices"
)

// A series is some samples of one probe. It is written by columns: how many,
// the first second after a base, the distances as runs, the flags as runs,
// the temperatures, the humidities. All numbers are variable-length.
type series struct {
	base    int64
	samples []sample // in order of time, without doubles, none before base
}

const (
	// windowSeconds is the length of a packed block. It divides a day, so no
	// block crosses a year.
	windowSeconds = 4 * 60 * 60
	maxSeries     = windowSeconds // one sample a second
)

var errSeries = errors.New("readings cannot be decoded")

// appendTo writes the series; guess says how a column's values are predicted.
func (s series) appendTo(dst []byte, guess predictor) []byte {
	samples := s.samples
	dst = binary.AppendUvarint(dst, uint64(len(samples)))
	if len(samples) == 0 {
		return dst
	}
	dst = binary.AppendUvarint(dst, uint64(samples[0].at-s.base))
	dst = appendRuns(dst, len(samples)-1, func(i int) uint64 {
		return uint64(samples[i+1].at - samples[i].at)
	})
	dst = appendRuns(dst, len(samples), func(i int) uint64 { return uint64(samples[i].flags) })
	var temps, humids []int32
	for _, one := range samples {
		if one.flags&1 != 0 {
			temps = append(temps, one.celsius)
		}
		if one.flags&2 != 0 {
			humids = append(humids, one.humid)
		}
	}
	return appendColumn(appendColumn(dst, temps, guess), humids, guess)
}

// A window is where a series' samples must lie: from base on, length seconds.
type window struct{ base, length int64 }

// parse reads what appendTo wrote, and nothing behind it. The samples, at
// least one, are in order, without doubles, all in the window. They are
// written over dst if they fit there.
func (w window) parse(dst []sample, src []byte) ([]sample, error) {
	c := cursor{rest: src}
	n := int(c.number(min(maxSeries, uint64(w.length))))
	if n == 0 {
		return nil, errSeries
	}
	samples := slices.Grow(dst[:0], n)[:n]
	clear(samples)
	at := w.base + int64(c.number(uint64(w.length)-1))
	samples[0].at = at
	c.runs(n-1, uint64(w.length), func(i int, distance uint64) {
		at += int64(distance)
		if distance == 0 || at >= w.base+w.length {
			c.err = errSeries
		}
		samples[i+1].at = at
	})
	c.runs(n, 255, func(i int, flags uint64) {
		if uint8(flags)&hasMask == 0 {
			c.err = errSeries
		}
		samples[i].flags = uint8(flags)
	})
	c.column(samples, 1, func(s *sample, v int32) { s.celsius = v })
	c.column(samples, 2, func(s *sample, v int32) { s.humid = v })
	if c.err != nil || len(c.rest) > 0 {
		return nil, errSeries
	}
	return samples, nil
}

// appendRuns writes n values as pairs of value and how often it repeats.
func appendRuns(dst []byte, n int, value func(int) uint64) []byte {
	for i := 0; i < n; {
		j := i + 1
		for j < n && value(j) == value(i) {
			j++
		}
		dst = binary.AppendUvarint(dst, value(i))
		dst = binary.AppendUvarint(dst, uint64(j-i))
		i = j
	}
	return dst
}

// A cursor reads numbers off a byte slice; after its first error every number
// is zero.
type cursor struct {
	rest []byte
	err  error
}

// number reads a number that may be at most limit.
func (c *cursor) number(limit uint64) uint64 {
	if c.err != nil {
		return 0
	}
	v, n := binary.Uvarint(c.rest)
	if n <= 0 || v > limit {
		c.err = errSeries
		return 0
	}
	c.rest = c.rest[n:]
	return v
}

// take reads n bytes.
func (c *cursor) take(n uint64) []byte {
	if c.err != nil || n > uint64(len(c.rest)) {
		c.err = errSeries
		return nil
	}
	b := c.rest[:n:n]
	c.rest = c.rest[n:]
	return b
}

// runs reads n values, each at most limit, that appendRuns wrote.
func (c *cursor) runs(n int, limit uint64, each func(i int, v uint64)) {
	for i := 0; i < n && c.err == nil; {
		v, run := c.number(limit), c.number(uint64(n-i))
		if run == 0 {
			c.err = errSeries
		}
		for ; run > 0 && c.err == nil; run-- {
			each(i, v)
			i++
		}
	}
}

// column reads the values of the samples that have the flag.
func (c *cursor) column(samples []sample, flag uint8, set func(*sample, int32)) {
	has := func(s sample) bool { return s.flags&flag != 0 }
	if c.err != nil || !slices.ContainsFunc(samples, has) {
		return
	}
	col := c.columnHead()
	for i := range samples {
		if has(samples[i]) {
			set(&samples[i], col.next(c))
		}
	}
}
