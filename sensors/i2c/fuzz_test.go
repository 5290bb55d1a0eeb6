package i2c_test

import (
	"bytes"
	"errors"
	"math"
	"testing"
	"testing/synctest"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/physic"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/i2c"
)

// A noise bus answers with whatever bytes there are, again from the start when
// they run out, and refuses some transfers.
type noise struct {
	bytes   []byte
	at      int
	refuses byte // every so many transfers; zero: never
	count   int
	newest  []byte
}

func (n *noise) Tx(_ uint16, _, in []byte) error {
	n.count++
	if n.refuses != 0 && n.count%int(n.refuses) == 0 {
		return unix.EREMOTEIO
	}
	for i := range in {
		if len(n.bytes) > 0 {
			in[i] = n.bytes[n.at%len(n.bytes)]
			n.at++
		}
	}
	if len(in) > 0 {
		n.newest = bytes.Clone(in)
	}
	return nil
}

func (n *noise) String() string                  { return "i2c-1" }
func (n *noise) SetSpeed(physic.Frequency) error { return errors.New("not asked for") }

// FuzzModels gives every driver bytes that no chip would send: each Read ends,
// within its transfers, with a reading the chip could have taken or with a
// named fault and no reading.
func FuzzModels(f *testing.F) {
	for i := range i2c.Models() {
		f.Add(byte(i), byte(0), []byte{0x60})
		f.Add(byte(i), byte(7), []byte{0x19, 0x00})
		f.Add(byte(i), byte(0), []byte{0x66, 0x66, 0x93})
		f.Add(byte(i), byte(0), []byte{0x1c, 0x26, 0x9a, 0x76, 0x42, 0xe7, 0x76})
		f.Add(byte(i), byte(0), []byte{0xff})
	}
	f.Fuzz(func(t *testing.T, which, refuses byte, data []byte) {
		m := i2c.Models()[int(which)%len(i2c.Models())]
		synctest.Test(t, func(t *testing.T) {
			bus := &noise{bytes: data, refuses: refuses}
			s, err := i2c.Open(bus, m.Name, 0)
			check(t, err)
			for range 4 {
				before := bus.count
				r, err := s.Read(t.Context())
				if n := bus.count - before; n > i2c.MaxTransfers {
					t.Fatalf("one Read made %d transfers", n)
				}
				believable(t, m, r, err)
			}
		})
	})
}

func believable(t *testing.T, m i2c.Model, r incubation.Reading, err error) {
	t.Helper()
	if err != nil {
		if _, ok := errors.AsType[*sensors.Fault](err); !ok || r != (incubation.Reading{}) {
			t.Fatalf("%s: %v with the reading %+v", m.Name, err, r)
		}
		return
	}
	if math.IsNaN(float64(r.Celsius)) || r.Celsius < m.Low || r.Celsius > m.High || r.Has != m.Has {
		t.Fatalf("%s: reading %+v", m.Name, r)
	}
	if math.IsNaN(float64(r.Humidity)) || r.Humidity < 0 || r.Humidity > 1 {
		t.Fatalf("%s: humidity %v", m.Name, r.Humidity)
	}
}

// FuzzSHTFrame: what the SHT3x driver accepts gives back, by the formula turned
// round, the words of the frame; with any one bit turned over the frame is
// refused.
func FuzzSHTFrame(f *testing.F) {
	f.Add(uint16(0x6666), uint16(0x6666), byte(0))
	f.Add(uint16(0x8000), uint16(0xffff), byte(23))
	f.Add(uint16(0), uint16(0), byte(47))
	f.Fuzz(func(t *testing.T, celsius, humidity uint16, bit byte) {
		frame := append(word(celsius), word(humidity)...)
		r, err := readFrame(t, "sht31", frame)
		if err == nil {
			raw := func(v float64) uint16 { return uint16(math.Round(v * 65535)) }
			again := append(word(raw((float64(r.Celsius)+45)/175)), word(raw(float64(r.Humidity)))...)
			if !bytes.Equal(again, frame) {
				t.Errorf("% x was read as %.4f °C and %.4f, which is % x", frame, r.Celsius, r.Humidity, again)
			}
		} else if cause := sensors.CauseOf(err); cause != sensors.OutOfRange {
			t.Errorf("% x has good sums and is refused as %s", frame, cause)
		}
		frame[bit/8%6] ^= 1 << (bit % 8)
		if r, err := readFrame(t, "sht31", frame); sensors.CauseOf(err) != sensors.Checksum {
			t.Errorf("% x, damaged, gives %+v, %v", frame, r, err)
		}
	})
}

// word is a word as the chip sends it, with its sum.
func word(raw uint16) []byte {
	w := []byte{byte(raw >> 8), byte(raw)}
	return append(w, i2c.CRC8(w))
}

// FuzzLM75Frame: what an lm75's nine, eleven or twelve bits say gives back those
// bits.
func FuzzLM75Frame(f *testing.F) {
	f.Add(uint16(0x1900))
	f.Add(uint16(0xe700))
	f.Add(uint16(0x7fff))
	f.Fuzz(func(t *testing.T, raw uint16) {
		for model, bits := range map[string]int{"lm75": 9, "lm75b": 11, "tmp105": 12} {
			r, err := readFrame(t, model, []byte{byte(raw >> 8), byte(raw)})
			if err != nil {
				continue
			}
			below := uint16(1)<<(16-bits) - 1
			if again := uint16(int16(r.Celsius * 256)); again != raw&^below {
				t.Errorf("%s: %04x was read as %.4f °C, which is %04x", model, raw, r.Celsius, again)
			}
		}
	})
}

// readFrame reads a chip that gives these bytes when it is asked for as many,
// and zeros else.
func readFrame(t *testing.T, model string, frame []byte) (r incubation.Reading, err error) {
	synctest.Test(t, func(t *testing.T) {
		s, openErr := i2c.Open(frameBus(frame), model, 0)
		check(t, openErr)
		r, err = s.Read(t.Context())
	})
	if err != nil && r != (incubation.Reading{}) {
		t.Errorf("%s: %v with the reading %+v", model, err, r)
	}
	return r, err
}

type frameBus []byte

func (b frameBus) Tx(_ uint16, _, in []byte) error {
	if len(in) == len(b) {
		copy(in, b)
	}
	return nil
}
func (b frameBus) String() string                  { return "i2c-1" }
func (b frameBus) SetSpeed(physic.Frequency) error { return errors.New("not asked for") }
