package proof_test

import (
	"time"
)

// faultsOfValues are numbers that are believable by themselves and not true,
// and numbers that are none.
func faultsOfValues() []fault {
	return []fault{
		{
			name: "frozen thermometer in a box", bytes: "w1_slave the same for ever, right CRC", watch: 3 * 24 * time.Hour,
			within: 9 * time.Hour, rules: []string{"frozen"}, most: 1,
			beat:  time.Minute,
			begin: func(h *house) { h.w1("box-1").holds = true },
		},
		{
			name: "frozen chip in the cabinet's air", bytes: "the same six bytes of an SHT31 for ever, right CRC",
			within: 9 * time.Hour, rules: []string{"frozen"}, most: 1,
			watch: 24 * time.Hour,
			begin: func(h *house) { h.sht(cool).holds = true },
		},
		{
			name: "a value that jumps by 2 K and stays", bytes: "DS18B20 scratchpad 32 counts higher, right CRC",
			within: 20 * time.Minute, rules: []string{"too-warm", "probe-doubt", "probe-drift"}, most: 2,
			watch: 6 * time.Hour,
			begin: func(h *house) { h.in("box-1").off = bumped(2) },
			end:   func(h *house) { h.in("box-1").off = nil },
		},
		{
			name: "an offset of 0.5 K that a probe gets", bytes: "DS18B20 scratchpad 8 counts higher, right CRC",
			why: "at night its box comes to 29.5 °C, the limit, for less than the 10 min that it takes; no egg there " +
				"is at an age and a warmth at which half a kelvin moves its sex estimate",
			watch: 24 * time.Hour,
			begin: func(h *house) { h.in("box-2").off = bumped(0.5) },
		},
		{
			name: "a probe drifts by 0.1 K a day", bytes: "DS18B20 scratchpad, right CRC", watch: 12 * 24 * time.Hour,
			within: 227 * time.Hour, rules: []string{"too-warm"}, most: 4,
			beat:  time.Minute,
			begin: func(h *house) { h.in("box-2").off = creeping(0.1, 0) },
		},
		{
			name: "spikes of 5 K, one value in ten minutes", bytes: "DS18B20 scratchpad 80 counts higher, right CRC",
			within: 45 * time.Minute, rules: []string{"probe-doubt"}, most: 1,
			watch: 6 * time.Hour,
			begin: func(h *house) {
				h.in("box-1").off = func(at time.Time) (float64, float64) {
					if at.Unix()%600 < 30 {
						return 5, 0
					}
					return 0, 0
				}
			},
		},
		{
			name: "85.00 once, as after a dip of the supply", bytes: "scratchpad 50 05, right CRC, one time",
			why:   "rightly: the value is refused, the next one taken",
			watch: time.Hour,
			begin: func(h *house) { h.w1("box-1").damage = once(w1Slave(powerOn())) },
			end:   func(h *house) { h.w1("box-1").damage = nil },
		},
		{
			name: "85.00 for ever", bytes: "scratchpad 50 05, right CRC", watch: 3 * time.Hour, quick: true,
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.w1("box-1").damage = saying(w1Slave(powerOn())) },
			end:   func(h *house) { h.w1("box-1").damage = nil },
		},
		{
			name: "brown-out of a BME280: it forgets that humidity is wanted", bytes: "registers f7 to fe 80000 and 8000",
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			watch: 3 * time.Hour,
			begin: func(h *house) { h.in("box-5").chip.(*bme280).forgets = true },
		},
		{
			name: "a BME280's humidity 25 points too low", bytes: "BME280 registers, other humidity", watch: 12 * time.Hour,
			within: 5 * time.Hour, rules: []string{"dry-air"}, most: 1,
			begin: func(h *house) { h.in("box-5").chip.(*bme280).skewed = -0.25 },
		},
	}
}

// powerOn is a DS18B20's scratchpad before it has measured: 85 °C.
func powerOn() []byte { return []byte{0x50, 0x05, 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10} }

// once is a damage that happens to one text.
func once(says string) func(string) string {
	done := false
	return func(text string) string {
		if done {
			return text
		}
		done = true
		return says
	}
}
