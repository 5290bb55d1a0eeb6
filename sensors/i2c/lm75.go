package i2c

import (
	"encoding/binary"
	"time"
)

// Registers and settings of the LM75 and its relatives. A tmp75 or tmp105
// starts with 9 bits and has them set to 12; in the older ones those bits are
// to be left zero.
const (
	lm75Temperature   = 0x00
	lm75Configuration = 0x01
	lm75TwelveBits    = 0x60
	lm75Shutdown      = 0x01
	// lm75Conversion is the longest conversion: 300 ms (LM75), 320 ms (TMP105
	// at 12 bits).
	lm75Conversion = 350 * time.Millisecond
)

// An lm75 is a chip with a temperature register of two bytes, the highest bits
// of a two's complement number of 1/256 °C.
type lm75 struct {
	wire     *wire
	bits     int
	settings byte
}

func buildLM75(bits int) func(*wire) (measurer, error) {
	return func(w *wire) (measurer, error) {
		l := &lm75{wire: w, bits: bits}
		if bits == 12 {
			l.settings = lm75TwelveBits
		}
		return l, nil
	}
}

// measure looks at the settings first: after a dip of the supply the chip
// would go on with 9 bits.
func (l *lm75) measure() (value, error) {
	if err := l.setUp(); err != nil {
		return value{}, err
	}
	frame, err := l.wire.register(lm75Temperature, 2)
	if err != nil {
		return value{}, err
	}
	if dead(frame) {
		return value{}, deadFault("temperature", frame)
	}
	return value{celsius: decodeLM75(frame, l.bits)}, nil
}

func (l *lm75) setUp() error {
	now, err := l.wire.register(lm75Configuration, 1)
	if err != nil {
		return err
	}
	if now[0]&(l.settings|lm75Shutdown) == l.settings {
		return nil
	}
	if err := l.wire.write(lm75Configuration, l.settings); err != nil {
		return err
	}
	return l.wire.pause(lm75Conversion)
}

// decodeLM75 ignores what is below the chip's resolution: on the LM75 itself
// those bits are undefined.
func decodeLM75(frame []byte, bits int) float64 {
	raw := binary.BigEndian.Uint16(frame) &^ (1<<(16-bits) - 1)
	return float64(int16(raw)) / 256
}
