package proof_test

import (
	"time"
)

// faultsOfDevices are those of what speaks over MQTT: payloads, or none.
func faultsOfDevices() []fault {
	says := func(text string) func(h *house) {
		return func(h *house) { h.device(warm).aside = func([]string) []string { return []string{text} } }
	}
	mends := func(h *house) { h.device(warm).aside = nil }
	return []fault{
		{
			name: "a device sends −127", bytes: `{"t":-127.00,"h":50.0,"at":…}`, watch: 3 * time.Hour,
			within: 35 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.stamped(warm, `{"t":-127.00,"h":50.0,"at":%q}`) }, end: mends,
		},
		{
			name: "a device sends garbage", bytes: `{"t":nan,"h"`, watch: 3 * time.Hour, begin: says(`{"t":nan,"h"`), end: mends,
			within: 35 * time.Minute, rules: []string{"stale"}, most: 1,
		},
		{
			name: "a battery dies: pauses grow by half each time", bytes: "payloads further and further apart",
			within: 100 * time.Minute, rules: []string{"stale"}, most: 2,
			watch: 12 * time.Hour,
			begin: func(h *house) {
				d := h.device(warm)
				d.aside = func(p []string) []string { d.every += d.every / 2; return p }
			},
		},
		{
			name: "the broker replays what it kept, once an hour, of a device that is gone", bytes: "retained payloads",
			within: 10 * time.Minute, rules: []string{"stale"}, most: 1,
			watch: 4 * time.Hour,
			begin: func(h *house) {
				d := h.device("lay-box")
				n := 0
				d.aside = func([]string) []string {
					if n++; n%60 == 0 {
						d.replay()
					}
					return nil
				}
			},
		},
		{
			name: "a device repeats its last message, with its old time", bytes: "the same payload again, not retained",
			within: 35 * time.Minute, rules: []string{"stale"}, most: 1,
			watch: 4 * time.Hour,
			begin: func(h *house) {
				d := h.device(warm)
				kept := d.kept
				d.aside = func([]string) []string { return []string{kept} }
			},
		},
		{
			name: "a device's clock is a day behind", bytes: `"at" of yesterday`, watch: 4 * time.Hour,
			within: 35 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.device(warm).clock = -24 * time.Hour },
			end:   func(h *house) { h.device(warm).clock = 0 },
		},
		{
			name: "a device's clock is a day ahead", bytes: `"at" of tomorrow`, watch: 4 * time.Hour,
			begin: func(h *house) { h.device(warm).clock = 24 * time.Hour },
			end:   func(h *house) { h.device(warm).clock = 0 },
			why:   "rightly: its values are taken as of their arrival",
		},
		{
			name: "the router is gone: no device is heard", bytes: "no payload", watch: 3 * time.Hour, quick: true,
			within: 7 * time.Minute, rules: []string{"silent-source"}, most: 1,
			begin: func(h *house) { h.device(warm).away, h.device("lay-box").away = true, true },
			end:   func(h *house) { h.device(warm).away, h.device("lay-box").away = false, false },
		},
	}
}
