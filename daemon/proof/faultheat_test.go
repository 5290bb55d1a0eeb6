package proof_test

import (
	"time"

	"clutchd/sensors/simulated"
)

// modelled is a fault of the model's own, for the whole watch.
func modelled(kind simulated.FaultKind, subject string, size float64) func(*house) {
	return func(h *house) { h.inject(kind, subject, size, h.watch) }
}

// faultsOfHeat are those of heaters, thermostats, fans, doors and weather: all
// of them other temperatures at healthy chips.
func faultsOfHeat() []fault {
	const same = "other temperatures, right bytes"
	return []fault{
		{
			name: "heater stuck on, cool cabinet", bytes: same, watch: 3 * time.Hour, quick: true,
			within: 25 * time.Minute, rules: []string{"too-warm", "heating-early"}, most: 4,
			begin: modelled(simulated.StuckOn, cool, 0),
		},
		{
			name: "heater stuck on, warm cabinet", bytes: same, watch: 3 * time.Hour,
			within: 10 * time.Minute, rules: []string{"heating-early"}, most: 2,
			begin: modelled(simulated.StuckOn, warm, 0),
		},
		{
			name: "heater stuck off", bytes: same, watch: 6 * time.Hour,
			within: 40 * time.Minute, rules: []string{"cooling-early"}, most: 4,
			begin: modelled(simulated.Tripped, cool, 0),
		},
		{
			name: "heater too weak for a cold week: 30 % of its power, room 5 K colder", bytes: same,
			within: 9 * time.Hour, rules: []string{"below-limit", "cooling-early"}, most: 6,
			watch: 24 * time.Hour,
			begin: func(h *house) {
				h.inject(simulated.Weak, cool, 0.3, h.watch)
				h.inject(simulated.Heatwave, room, -5, h.watch)
			},
		},
		{
			name: "thermostat drifts by 0.1 K a day", bytes: same, watch: 12 * 24 * time.Hour, beat: time.Minute,
			within: 195 * time.Hour, rules: []string{"too-warm"}, most: 15,
			begin: modelled(simulated.Drifting, cool, 0.1),
		},
		{
			name: "thermostat bumped by 1 K, not in the book", bytes: same, watch: 12 * time.Hour,
			within: 60 * time.Minute, rules: []string{"too-warm", "off-setpoint"}, most: 3,
			begin: modelled(simulated.Bumped, cool, 1),
		},
		{
			name: "fan stands: shelves differ three times as much", bytes: same, watch: 12 * time.Hour,
			within: 60 * time.Minute, rules: []string{"too-warm"}, most: 1,
			begin: modelled(simulated.Stirless, cool, 3),
		},
		{
			name: "door left open", bytes: same, watch: 3 * time.Hour,
			why:   "by its sizes the heater holds 5.6 K over the room against it, so no limit is crossed; a door contact would tell",
			begin: modelled(simulated.Open, cool, 0),
		},
		{
			name: "heat wave: the room rises by 9 K over six hours, past the cool cabinet's setpoint", bytes: same,
			within: 13 * time.Hour, rules: []string{"probe-slipped"}, most: 10,
			watch: 36 * time.Hour,
			begin: modelled(simulated.Heatwave, room, 9),
		},
		{
			name: "power cut, this computer on a battery, no mains contact", bytes: same, watch: 6 * time.Hour,
			within: 40 * time.Minute, rules: []string{"cooling-early"}, most: 7,
			begin: modelled(simulated.Tripped, "", 0),
		},
	}
}
