package store

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
)

// A row is all probes' readings of one minute, waiting to be packed.
type row []group

// A group is one probe's part of a row. Probes go by number there; the
// file's dictionary has their names.
type group struct {
	probe   uint32
	samples []sample
}

const minuteSeconds = 60

// appendRow writes a row: for each probe its number, the length of its series
// and the series. Groups must be in order of probe.
func appendRow(dst []byte, base int64, r row) []byte {
	var one []byte
	for _, g := range r {
		one = series{base, g.samples}.appendTo(one[:0], fromLast)
		dst = binary.AppendUvarint(dst, uint64(g.probe))
		dst = binary.AppendUvarint(dst, uint64(len(one)))
		dst = append(dst, one...)
	}
	return dst
}

// parseRow reads a row of the minute that starts at base. only, if not zero,
// is the one probe whose group is wanted: the others are passed over unread.
func parseRow(src []byte, base int64, only uint32) (row, error) {
	var r row
	c := cursor{rest: src}
	for last := uint64(0); len(c.rest) > 0; {
		probe := c.number(math.MaxUint32)
		one := c.take(c.number(uint64(len(c.rest))))
		if c.err != nil || probe <= last {
			return nil, errSeries
		}
		last = probe
		if only != 0 && probe != uint64(only) {
			continue
		}
		samples, err := window{base, minuteSeconds}.parse(nil, one)
		if err != nil {
			return nil, err
		}
		r = append(r, group{uint32(probe), samples})
	}
	return r, nil
}

// with gives the row with further samples of a probe, which win over those
// that it has.
func (r row) with(probe uint32, samples []sample) row {
	i, found := slices.BinarySearchFunc(r, probe, func(g group, p uint32) int {
		return cmp.Compare(g.probe, p)
	})
	if !found {
		return slices.Insert(r, i, group{probe, samples})
	}
	r[i].samples = merge(r[i].samples, samples)
	return r
}
