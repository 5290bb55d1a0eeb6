package store

import (
	"encoding/binary"
	"math"
)

// A predictor guesses a column's next value; only the difference is written.
type predictor uint8

const (
	// fromLast: what changes in steps, or slowly against its grid.
	fromLast predictor = iota
	// fromMean: noise around something that hardly moves. A running mean
	// has itself little noise, where the last value has as much as the next.
	fromMean
	predictors
)

// meanShift sets how slowly the running mean follows: 1/16 of the difference.
const meanShift = 4

// A column is values divided by the largest unit that divides them all, each
// as its difference from the guess.
type column struct {
	unit  int64
	guess predictor
	begun bool
	last  int64
	mean  int64 // times 1<<meanShift
}

// appendColumn writes values; no values, nothing.
func appendColumn(dst []byte, values []int32, guess predictor) []byte {
	if len(values) == 0 {
		return dst
	}
	col := column{unit: unitOf(values), guess: guess}
	dst = binary.AppendUvarint(dst, uint64(col.unit))
	dst = append(dst, byte(guess))
	for _, v := range values {
		scaled := int64(v) / col.unit
		dst = binary.AppendVarint(dst, scaled-col.expect())
		col.saw(scaled)
	}
	return dst
}

// columnHead reads what appendColumn wrote before the values.
func (c *cursor) columnHead() column {
	col := column{unit: int64(c.number(math.MaxInt32))}
	if b := c.take(1); c.err == nil {
		col.guess = predictor(b[0])
	}
	if c.err == nil && (col.unit == 0 || col.guess >= predictors) {
		c.err = errSeries
	}
	return col
}

// next reads the next value.
func (col *column) next(c *cursor) int32 {
	if c.err != nil {
		return 0
	}
	d, n := binary.Varint(c.rest)
	if n <= 0 || d > math.MaxUint32 || d < -math.MaxUint32 {
		c.err = errSeries
		return 0
	}
	c.rest = c.rest[n:]
	scaled := col.expect() + d
	v := scaled * col.unit
	if scaled > math.MaxInt32 || scaled < math.MinInt32 || v > math.MaxInt32 || v < math.MinInt32 {
		c.err = errSeries
		return 0
	}
	col.saw(scaled)
	return int32(v)
}

func (col *column) expect() int64 {
	if col.guess == fromLast {
		return col.last
	}
	return (col.mean + 1<<(meanShift-1)) >> meanShift
}

func (col *column) saw(v int64) {
	col.last = v
	if !col.begun {
		col.begun, col.mean = true, v<<meanShift
		return
	}
	col.mean += v - (col.mean+1<<(meanShift-1))>>meanShift
}

// unitOf gives the largest number that divides all values; 1 if all are 0.
func unitOf(values []int32) int64 {
	unit := int64(0)
	for _, v := range values {
		a, b := unit, max(int64(v), -int64(v))
		for b != 0 {
			a, b = b, a%b
		}
		if unit = a; unit == 1 {
			break
		}
	}
	return max(unit, 1)
}
