package proof_test

import (
	"os"
	"path/filepath"
	"time"

	"clutchd/sensors/simulated"
)

// faultsOfContacts are those that a contact tells of, or of a contact. Theirs
// is a house with a mains contact, a leak detector and a door switch.
func faultsOfContacts() []fault {
	all := []fault{
		{
			name: "power cut, this computer on a battery, mains contact", bytes: "power_supply/AC/online says 0",
			within: time.Hour, rules: []string{"on-battery", "too-cool", "cooling-early"}, most: 4,
			watch: 6 * time.Hour, quick: true,
			begin: func(h *house) {
				h.inject(simulated.Tripped, "", 0, h.watch)
				h.mains("0\n")
			},
			end: func(h *house) { h.mains("1\n") },
		},
		{
			name: "the mains flicker for three seconds", bytes: "power_supply/AC/online says 0, then 1", watch: time.Hour,
			why: "rightly: a minute without mains is the least that is told",
			begin: func(h *house) {
				h.mains("0\n")
				go func() {
					time.Sleep(3 * time.Second)
					h.mains("1\n")
				}()
			},
		},
		{
			name: "the mains contact is unplugged", bytes: "power_supply/AC/online is gone", watch: time.Hour,
			within: 10 * time.Minute, rules: []string{"contact-silent"}, most: 1,
			begin: func(h *house) { must(h.T, os.Remove(filepath.Join(h.panel.folder, "online"))) },
		},
		{
			name: "water on the floor", bytes: "a GPIO line goes low", watch: time.Hour, quick: true,
			within: 2 * time.Minute, rules: []string{"leak"}, most: 1,
			begin: func(h *house) { h.panel.leak.close(true) },
			end:   func(h *house) { h.panel.leak.close(false) },
		},
		{
			name: "an enclosure's door left open", bytes: "a GPIO line goes low", watch: time.Hour,
			within: 10 * time.Minute, rules: []string{"enclosure-open"}, most: 1,
			begin: func(h *house) { h.panel.door.close(true) },
		},
	}
	for i := range all {
		all[i].contacts = true
	}
	return all
}
