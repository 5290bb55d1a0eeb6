package proof_test

import (
	"encoding/hex"
	"errors"
	"math"
	"sync"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/physic"
)

// A board is an I2C bus with chips on it, byte for byte.
type board struct {
	mu    sync.Mutex
	chips map[uint16]slave
	// fails is what every transfer gives instead; nil: nothing is amiss.
	fails error
	// hangs: a transfer does not return until it is closed.
	hangs chan struct{}
}

// A slave answers to what is written to it.
type slave interface {
	tx(out, in []byte) error
}

func (b *board) Tx(addr uint16, out, in []byte) error {
	b.mu.Lock()
	hangs, fails, chip := b.hangs, b.fails, b.chips[addr]
	b.mu.Unlock()
	if hangs != nil {
		<-hangs
	}
	if fails != nil {
		return fails
	}
	if chip == nil {
		return unix.EREMOTEIO // nobody acknowledges
	}
	return chip.tx(out, in)
}

func (b *board) String() string                  { return "i2c-1" }
func (b *board) SetSpeed(physic.Frequency) error { return errors.New("not asked for") }

// trouble sets what the bus does from now on.
func (b *board) trouble(fails error, hangs chan struct{}) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.hangs != nil && b.hangs != hangs {
		close(b.hangs)
	}
	b.fails, b.hangs = fails, hangs
}

// unplug takes a chip off the bus and gives it.
func (b *board) unplug(addr uint16) slave {
	b.mu.Lock()
	defer b.mu.Unlock()
	chip := b.chips[addr]
	delete(b.chips, addr)
	return chip
}

func (b *board) plug(addr uint16, s slave) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.chips[addr] = s
}

// An sht31 answers a single shot with two words, each with its CRC-8 (SHT3x-DIS
// data sheet: polynomial 0x31, start 0xff).
type sht31 struct {
	mu    sync.Mutex
	frame [6]byte
	// damage changes the six bytes on their way; nil: they arrive as sent.
	damage func(frame []byte)
	holds  bool // it measures nothing new
}

func (s *sht31) show(celsius, ratio float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.holds && s.frame != [6]byte{} {
		return
	}
	word := func(at int, share float64) {
		raw := uint16(math.Round(65535 * min(1, max(0, share))))
		s.frame[at], s.frame[at+1] = byte(raw>>8), byte(raw)
		s.frame[at+2] = crc31(s.frame[at : at+2])
	}
	word(0, (celsius+45)/175)
	word(3, ratio)
}

func (s *sht31) tx(_, in []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if n := copy(in, s.frame[:]); n > 0 && s.damage != nil {
		s.damage(in[:n])
	}
	return nil
}

func crc31(data []byte) byte {
	crc := byte(0xff)
	for _, b := range data {
		crc ^= b
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x31
			} else {
				crc <<= 1
			}
		}
	}
	return crc
}

// A bme280 holds registers. Its calibration is the worked example of
// BST-BMP280-DS001, section 3.12, with humidity figures that are invented, of
// the size that real chips have: those of the tests of package i2c.
type bme280 struct {
	mu        sync.Mutex
	registers [256]byte
	skewed    float64 // added to the humidity that it measures, after a brown-out
	forgets   bool    // its settings are gone as soon as they are written
}

func newBME280() *bme280 {
	c := &bme280{}
	put := func(at int, text string) {
		raw, err := hex.DecodeString(text)
		if err != nil {
			panic(err) // the constants below
		}
		copy(c.registers[at:], raw)
	}
	put(0xd0, "60")
	put(0x88, "706b436718fc7d8e43d6d00b270b8c00f9ff8c3cf8c67017004b")
	put(0xe1, "6a010013"+"2b031e")
	return c
}

func (c *bme280) tx(out, in []byte) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(in) > 0 && len(out) == 1 {
		copy(in, c.registers[out[0]:])
		return nil
	}
	for i := 0; i+1 < len(out); i += 2 {
		if at := out[i]; at >= 0xf2 && at <= 0xf5 && at != 0xf3 && !c.forgets {
			c.registers[at] = out[i+1] &^ 3 // asleep again once it has measured
		}
	}
	return nil
}

func (c *bme280) show(celsius, ratio float64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	t := search(1<<20, func(adc int) bool { return bmeCelsius(adc) >= celsius })
	h := search(1<<16, func(adc int) bool { return bmePercent(adc, t) >= 100*(ratio+c.skewed) })
	if c.forgets {
		t, h = 0x80000, 0x8000
		copy(c.registers[0xf2:0xf6], []byte{0, 0, 0, 0})
	}
	copy(c.registers[0xf7:], []byte{
		0x80, 0, 0, byte(t >> 12), byte(t >> 4), byte(t << 4), byte(h >> 8), byte(h),
	})
}

// search gives the first of n values that is enough.
func search(n int, enough func(int) bool) int {
	lo, hi := 0, n-1
	for lo < hi {
		if mid := (lo + hi) / 2; enough(mid) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// bmeFine is the data sheet's t_fine in its floating-point form.
func bmeFine(adc int) float64 {
	const t1, t2, t3 = 27504.0, 26435.0, -1000.0
	x := float64(adc)/16384 - t1/1024
	y := float64(adc)/131072 - t1/8192
	return x*t2 + y*y*t3
}

func bmeCelsius(adc int) float64 { return bmeFine(adc) / 5120 }

// bmePercent is the data sheet's humidity in its floating-point form.
func bmePercent(adc, adcT int) float64 {
	const h1, h2, h3, h4, h5, h6 = 75.0, 362.0, 0.0, 315.0, 50.0, 30.0
	v := bmeFine(adcT) - 76800
	v = (float64(adc) - (h4*64 + h5/16384*v)) *
		(h2 / 65536 * (1 + h6/67108864*v*(1+h3/67108864*v)))
	return v * (1 - h1*v/524288)
}
