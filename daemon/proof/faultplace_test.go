package proof_test

import (
	"time"

	"clutchd/sensors/simulated"
)

// faultsOfPlaces are those of boxes and of where probes lie: other temperatures
// and humidities at healthy chips.
func faultsOfPlaces() []fault {
	const same = "other values, right bytes"
	return []fault{
		{
			name: "lid left open on a box with a humidity probe", bytes: same, watch: 12 * time.Hour,
			within: 5 * time.Hour, rules: []string{"dry-air"}, most: 1,
			begin: modelled(simulated.Lidless, "box-3", 8),
		},
		{
			name: "egg box taken out of the cabinet, probe and all", bytes: same, watch: 6 * time.Hour,
			within: 60 * time.Minute, rules: []string{"too-cool"}, most: 4,
			begin: modelled(simulated.Out, "box-1", 0),
		},
		{
			name: "probe slipped out of its box into the cabinet's air", bytes: same, watch: 24 * time.Hour,
			within: 8 * time.Hour, rules: []string{"probe-slipped"}, most: 2,
			begin: func(h *house) { h.inject(simulated.Slipped, h.in("box-1").id, 0, h.watch) },
		},
		{
			name: "probe of the upper box slipped out", bytes: same, watch: 24 * time.Hour,
			within: 8 * time.Hour, rules: []string{"probe-slipped"}, most: 1,
			begin: func(h *house) { h.inject(simulated.Slipped, h.in("box-2").id, 0, h.watch) },
		},
		{
			name: "probes of two cabinets swapped", bytes: same, watch: 12 * time.Hour,
			within: 15 * time.Minute, rules: []string{"too-warm"}, most: 3,
			begin: func(h *house) { h.swap("box-1", "box-4") },
		},
		{
			name: "probes of two boxes in one cabinet swapped", bytes: same, watch: 24 * time.Hour,
			why:   "they differ by 0.35 K, less than what tells two probes apart; each box's estimate is off by that",
			begin: func(h *house) { h.swap("box-1", "box-2") },
		},
		{
			name: "two probes in one box drift apart, 0.3 K a day", bytes: same,
			within: 123 * time.Hour, rules: []string{"too-warm"}, most: 2,
			watch: 6 * 24 * time.Hour, beat: time.Minute,
			begin: func(h *house) { h.in("box-4").off = creeping(0.3, 0) },
		},
		{
			name: "a box dries out: 3 % of humidity lost a day", bytes: same,
			within: 224 * time.Hour, rules: []string{"dry-air"}, most: 1,
			watch: 10 * 24 * time.Hour, beat: time.Minute,
			begin: func(h *house) { h.in("box-3").off = creeping(0, -0.03) },
		},
		{
			name: "humidity saturated for days", bytes: "SHT31 words ffff, right CRC", watch: 3 * 24 * time.Hour,
			why:   "rightly: condensation is no fault",
			beat:  time.Minute,
			begin: func(h *house) { h.in("box-3").off = func(time.Time) (float64, float64) { return 0, 1 } },
		},
		{
			name: "probe wet: saturated and 0.6 K too cool", bytes: "SHT31 words ffff, right CRC", watch: 24 * time.Hour,
			why:   "0.6 K is within its limits",
			begin: func(h *house) { h.in("box-3").off = func(time.Time) (float64, float64) { return -0.6, 1 } },
		},
	}
}

// swap lays two probes each where the other lay.
func (h *house) swap(a, b string) {
	one, two := h.in(a), h.in(b)
	one.as, two.as = two.id, one.id
}
