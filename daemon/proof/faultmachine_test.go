package proof_test

import (
	"time"

	"clutchd/sensors/simulated"
)

// faultsOfMachine are those of the computer that watches.
func faultsOfMachine() []fault {
	return []fault{
		{
			name: "this computer's clock jumps an hour ahead", bytes: "the system's clock", watch: 3 * time.Hour,
			within: 35 * time.Minute, rules: []string{"stale"}, most: 1,
			begin: func(h *house) { h.skew = time.Hour },
		},
		{
			name: "this computer's clock jumps an hour back", bytes: "the system's clock", watch: 3 * time.Hour,
			within: 15 * time.Minute, rules: []string{"clock"}, most: 1,
			begin: func(h *house) { h.skew = -time.Hour },
		},
		{
			name: "a start in 1970 without a network", bytes: "the system's clock, not set", watch: 3 * time.Hour,
			within: 20 * time.Minute, rules: []string{"clock"}, most: 1,
			begin: func(h *house) {
				h.stop()
				h.boots, h.booted = h.boots+1, time.Now()
				h.skew, h.trusted = -time.Since(time.Unix(0, 0)), false
				h.start()
			},
		},
		{
			name: "power cut of two hours, this computer too", bytes: "nothing is read; cooler values then",
			within: 4 * time.Hour, rules: []string{"away"}, most: 6,
			watch: 5 * time.Hour,
			begin: func(h *house) {
				h.inject(simulated.Tripped, "", 0, 2*time.Hour)
				h.reboot(2 * time.Hour)
			},
		},
		{
			name: "the disk is full", bytes: "the store's writes answer ENOSPC", watch: 3 * time.Hour, quick: true,
			within: 5 * time.Minute, rules: []string{"store"}, most: 1,
			begin: func(h *house) { h.idle.fill(true) },
			end:   func(h *house) { h.idle.fill(false) },
		},
		{
			name: "the program restarts", bytes: "nothing is read for a minute", watch: 3 * time.Hour,
			begin: func(h *house) { h.restart() },
			why:   "rightly: a restart is no news",
		},
	}
}
