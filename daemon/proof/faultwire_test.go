package proof_test

import (
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// faultsOfWires are those of cables, buses and chips that do not answer.
func faultsOfWires() []fault {
	const zeros = "00 00 00 00 00 00 00 00 00"
	const ones = "ff ff ff ff ff ff ff ff ff"
	return []fault{
		{
			name: "CRC storm on 1-wire: every answer damaged", bytes: "w1_slave says NO", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.w1("box-1").damage = badCRC },
			end:   func(h *house) { h.w1("box-1").damage = nil },
		},
		{
			name: "half of the answers damaged", bytes: "w1_slave says NO every other time", watch: 6 * time.Hour,
			why: "rightly: the other half is enough; the faults are counted in the metrics",
			begin: func(h *house) {
				n := 0
				h.w1("box-1").damage = func(text string) string {
					if n++; n%2 == 0 {
						return badCRC(text)
					}
					return text
				}
			},
		},
		{
			name: "CRC storm on I2C", bytes: "SHT31 words with a wrong CRC", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.sht("box-3").damage = func(f []byte) { f[2] ^= 0x55 } },
		},
		{
			name: "1-wire held low: all zeros, whose CRC is right", bytes: "w1_slave of zeros", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"silent-source"}, most: 1,
			begin: func(h *house) {
				text := zeros + " : crc=00 YES\n" + zeros + " t=0\n"
				for _, place := range []string{"box-1", "box-2", "box-4"} {
					h.w1(place).damage = saying(text)
				}
				h.wires[5-1].chip.(*thermometer).damage = saying(text)
			},
		},
		{
			name: "1-wire open: all ones", bytes: "w1_slave of ones", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) {
				h.w1("box-1").damage = saying(ones + " : crc=c9 NO\n" + ones + " t=-62\n")
			},
		},
		{
			name: "I2C held low", bytes: "every byte read is 00", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"silent-source"}, most: 2,
			begin: func(h *house) {
				h.sht("box-3").damage = func(f []byte) { clear(f) }
				h.sht(cool).damage = func(f []byte) { clear(f) }
			},
		},
		{
			name: "a transfer on I2C that does not return", bytes: "the call hangs", watch: 3 * time.Hour, quick: true,
			within: 10 * time.Minute, rules: []string{"silent-source"}, most: 3,
			begin: func(h *house) { h.board.trouble(nil, make(chan struct{})) },
			end:   func(h *house) { h.board.trouble(nil, nil) },
		},
		{
			name: "I2C answers EIO", bytes: "the kernel's error number", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"silent-source"}, most: 2,
			begin: func(h *house) { h.board.trouble(unix.EIO, nil) },
		},
		{
			name: "a chip is gone from the bus", bytes: "no acknowledgement", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.board.unplug(0x45) },
		},
		{
			name: "a thermometer is unplugged", bytes: "its folder is gone from the tree", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.w1("box-1").pull() },
			end:   func(h *house) { h.w1("box-1").plug() },
		},
		{
			name: "both thermometers of a box's eggs unplugged, air dead too", bytes: "folders gone, device silent",
			within: 10 * time.Minute, rules: []string{"silent-source", "stale"}, most: 4,
			watch: 3 * time.Hour, quick: true,
			begin: func(h *house) {
				for _, w := range h.wires {
					if w.place == "box-4" {
						w.chip.(*thermometer).pull()
					}
				}
				h.device(warm).away = true
			},
			end: func(h *house) {
				for _, w := range h.wires {
					if w.place == "box-4" {
						w.chip.(*thermometer).plug()
					}
				}
				h.device(warm).away = false
			},
		},
		{
			name: "a kernel chip comes back under another number", bytes: "hwmon0 is gone, hwmon3 there",
			why:   "rightly: it is found again within a minute",
			watch: 3 * time.Hour,
			begin: func(h *house) { h.in(room).chip.(*climate).renumber(3) },
		},
		{
			name: "the kernel's file holds text", bytes: "temp1_input says nan", watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) {
				h.in(room).chip.(*climate).damage = func(name, text string) string {
					if strings.HasPrefix(name, "temp1") {
						return "nan\n"
					}
					return text
				}
			},
		},
	}
}
