package i2c_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/physic"

	"clutchd/sensors/i2c"
)

// A board is a bus with chips that answer whenever they are asked. It notes
// what was written to whom.
type board struct {
	chips   map[uint16]func(out, in []byte) error
	kernel  map[uint16]string
	written []string
}

func (b *board) Tx(addr uint16, out, in []byte) error {
	if len(out) > 0 {
		b.written = append(b.written, fmt.Sprintf("%02x: % x", addr, out))
	}
	chip, ok := b.chips[addr]
	if !ok {
		return unix.EREMOTEIO
	}
	return chip(out, in)
}

func (b *board) Claimed(addr uint16) string      { return b.kernel[addr] }
func (b *board) String() string                  { return "i2c-1" }
func (b *board) SetSpeed(physic.Frequency) error { return errors.New("not asked for") }

// registers is a chip with registers of 8 bits' number; a read alone gives
// that of 0.
func registers(at map[byte]string) func(out, in []byte) error {
	return func(out, in []byte) error {
		reg := byte(0)
		if len(out) > 0 {
			reg = out[0]
		}
		copy(in, at[reg])
		return nil
	}
}

// commands is a chip that takes commands and then has an answer, once. What it
// does not know it refuses.
func commands(known map[string]string) func(out, in []byte) error {
	pending := ""
	return func(out, in []byte) error {
		if len(out) > 0 {
			answer, ok := known[string(out)]
			if !ok {
				return unix.EREMOTEIO
			}
			pending = answer
		}
		if len(in) > 0 {
			if pending == "" {
				return unix.EREMOTEIO
			}
			copy(in, pending)
			pending = ""
		}
		return nil
	}
}

func broken(_, _ []byte) error { return unix.ETIMEDOUT }

func TestDiscover(t *testing.T) {
	sht4x := commands(map[string]string{"\x89": "\x12\x34\x37\x56\x78\x7d"})
	sht3x := commands(map[string]string{"\xf3\x2d": "\x80\x10\xe1"})
	hdc := commands(map[string]string{"\xf3\x2d": "\x80\x10\xe1", "\x37\x81": "\x30\x00\x33"})
	for _, row := range []struct {
		about  string
		chip   func(out, in []byte) error
		addr   uint16
		models string
		note   string // its beginning
	}{
		{"an sht4x by its serial number", sht4x, 0x44, "sht4x", "its accuracy class"},
		{"an sht3x by its status", sht3x, 0x45, "sht3x", "its accuracy class"},
		{"an hdc302x by its status and maker", hdc, 0x47, "hdc302x", ""},
		{
			"another chip at these addresses",
			registers(map[byte]string{0x89: "\x01\x02\x03\x04\x05\x06"}), 0x44, "", "answers, but is no chip",
		},
		{"zeros are nobody's serial number", registers(nil), 0x44, "", "answers, but is no chip"},
		{"a bme280", registers(map[byte]string{0xd0: "\x60"}), 0x76, "bme280", ""},
		{"a bmp280", registers(map[byte]string{0xd0: "\x58"}), 0x77, "bmp280", ""},
		{
			"a bmp180",
			registers(map[byte]string{0xd0: "\x55"}), 0x77, "", "not read here (a bmp180)",
		},
		{
			"a bme680",
			registers(map[byte]string{0xd0: "\x61"}), 0x76, "", "not read here (a bme680)",
		},
		{
			"a barometer of another make",
			registers(map[byte]string{0xd0: "\x00"}), 0x76, "", "answers, but is no chip",
		},
		{
			"an mcp9808",
			registers(map[byte]string{6: "\x00\x54", 7: "\x04\x00"}), 0x1f, "mcp9808", "",
		},
		{
			"a relative of it",
			registers(map[byte]string{6: "\x00\x54", 7: "\x02\x01"}), 0x18, "", "answers, but is no chip",
		},
		{
			"an aht20 that has measured",
			registers(map[byte]string{0: "\x1c\x26\x9a\x76\x42\xe7\x76"}), 0x38, "aht20", "",
		},
		{
			"an aht20 that has not",
			registers(map[byte]string{0: "\x18\x00\x00\x00\x00\x00\x00"}), 0x38, "", "an aht20 that has not measured yet",
		},
		{
			"a port expander",
			registers(map[byte]string{0: "\xfe\xfe\xfe\xfe\xfe\xfe\xfe"}), 0x38, "", "answers, but is no chip",
		},
		{
			"a port expander whose pins happen to be their own check sum",
			registers(map[byte]string{0: "\x65\x65\x65\x65\x65\x65\x65"}), 0x38, "", "answers, but is no chip",
		},
		{
			"an lm75 or one of its relatives",
			registers(map[byte]string{0: "\x19\x00"}), 0x48, "tmp105 tmp75 tmp102 lm75b lm75", "they do not say",
		},
		{
			"an lm75 where no tmp102 can be",
			registers(map[byte]string{0: "\x19\x00"}), 0x4f, "tmp105 tmp75 lm75b lm75", "",
		},
		{
			"somebody at an lm75's address who says nothing",
			registers(map[byte]string{0: "\xff\xff"}), 0x4b, "", "answers, but is no chip",
		},
		{"one chip that holds the clock", broken, 0x76, "", "cannot be asked"},
	} {
		t.Run(row.about, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				b := &board{chips: map[uint16]func(out, in []byte) error{row.addr: row.chip}}
				all := i2c.Discover(t.Context(), b, "i2c-1")
				if len(all) != 1 || all[0].Bus != "i2c-1" || all[0].Addr != row.addr {
					t.Fatalf("found %+v, want one at 0x%02x", all, row.addr)
				}
				if got := strings.Join(all[0].Models, " "); got != row.models {
					t.Errorf("models are %q, want %q", got, row.models)
				}
				if !strings.HasPrefix(all[0].Note, row.note) {
					t.Errorf("note is %q, want it to begin with %q", all[0].Note, row.note)
				}
			})
		})
	}
}

// Everything it finds can be opened under every name it gives.
func TestDiscoverGivesWhatOpenTakes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := fullBoard()
		named := 0
		for _, found := range i2c.Discover(t.Context(), b, "i2c-1") {
			for _, model := range found.Models {
				named++
				if _, err := i2c.Open(b, model, found.Addr); err != nil {
					t.Errorf("discovered at 0x%02x: %v", found.Addr, err)
				}
			}
		}
		if named != 8 {
			t.Errorf("%d models were named, want one for each of four chips and the lm75s'", named)
		}
	})
}

func fullBoard() *board {
	return &board{chips: map[uint16]func(out, in []byte) error{
		0x18: registers(map[byte]string{6: "\x00\x54", 7: "\x04\x00"}),
		0x38: registers(map[byte]string{0: "\x1c\x26\x9a\x76\x42\xe7\x76"}),
		0x44: commands(map[string]string{"\x89": "\x12\x34\x37\x56\x78\x7d"}),
		0x4f: registers(map[byte]string{0: "\x19\x00"}),
		0x76: registers(map[byte]string{0xd0: "\x60"}),
	}}
}

// The list of all that is written, to whoever it may be.
func TestDiscoverWritesNoMoreThanItSays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := fullBoard()
		for addr := uint16(0x08); addr < 0x78; addr++ {
			if b.chips[addr] == nil {
				b.chips[addr] = registers(nil) // a stranger who takes everything
			}
		}
		i2c.Discover(t.Context(), b, "i2c-1")
		want := []string{"44: 89", "76: d0", "77: d0"}
		for addr := 0x18; addr <= 0x1f; addr++ {
			want = append(want, fmt.Sprintf("%02x: 06", addr), fmt.Sprintf("%02x: 07", addr))
		}
		for addr := 0x45; addr <= 0x47; addr++ {
			want = append(want, fmt.Sprintf("%02x: 89", addr), fmt.Sprintf("%02x: f3 2d", addr))
		}
		slices.Sort(want)
		slices.Sort(b.written)
		if diff := cmp.Diff(want, b.written); diff != "" {
			t.Errorf("what Discover wrote (−want +got):\n%s", diff)
		}
	})
}

func TestDiscoverLeavesTheKernelsChipsAlone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := fullBoard()
		b.kernel = map[uint16]string{0x44: "sht4x"}
		for _, found := range i2c.Discover(t.Context(), b, "i2c-1") {
			if found.Addr == 0x44 && (found.Models != nil || !strings.Contains(found.Note, "sht4x")) {
				t.Errorf("found %+v, want a note that the kernel has it", found)
			}
		}
		for _, w := range b.written {
			if strings.HasPrefix(w, "44:") {
				t.Errorf("wrote %s to a chip of the kernel's", w)
			}
		}
		if _, err := i2c.Open(b, "sht41", 0x44); err == nil || !strings.Contains(err.Error(), "sht4x driver") {
			t.Errorf("Open says %v, want that the kernel has it", err)
		}
	})
}

func TestDiscoverOnBrokenBus(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := &board{chips: map[uint16]func(out, in []byte) error{}}
		for addr := uint16(0x08); addr < 0x78; addr++ {
			b.chips[addr] = broken
		}
		all := i2c.Discover(t.Context(), b, "i2c-1")
		if len(all) != 3 || all[2].Addr != 0 || !strings.HasPrefix(all[2].Note, "the bus does not work") {
			t.Errorf("found %+v, want two addresses and then the bus", all)
		}
	})
}

func TestDiscoverEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		b := fullBoard()
		if all := i2c.Discover(ctx, b, "i2c-1"); all != nil || b.written != nil {
			t.Errorf("found %+v and wrote %v after the context's end", all, b.written)
		}
	})
}
