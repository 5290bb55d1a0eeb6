package web

import "clutchd/incubation"

// qualityState gives a reading's quality as a state: what asks for a look at
// the probe is a warning, what passes by itself is not.
func qualityState(q incubation.Quality) state {
	switch q {
	case incubation.Good:
		return normal
	case incubation.Saturated, incubation.Suspect, incubation.Spiked, incubation.Jumped:
		return state{"quiet", q.String()}
	}
	return state{"warning", q.String()}
}

// qualitySays tells what a quality means to someone who stands before the
// probe, "" for a good one.
func qualitySays(q incubation.Quality) string {
	switch q {
	case incubation.Saturated:
		return "Its humidity is at 100 %: water has condensed on it. Its temperature counts as ever."
	case incubation.Suspect:
		return "Something about this reading is odd. It counts less."
	case incubation.Frozen:
		return "It has said the same for longer than it can by itself. Unplug it and plug it in again."
	case incubation.Jumped:
		return "It jumped faster than air can. It counts again once it has stayed there for ten minutes."
	case incubation.Spiked:
		return "This one reading stands alone. The next will tell; until then the one before counts."
	case incubation.Drifting:
		return "It has been leaving what lies beside it for days. Compare it with a second thermometer."
	case incubation.Disagreeing:
		return "It and another probe cannot both be right. Compare both with a second thermometer."
	case incubation.Slipped:
		return "It follows the air outside its box. Look where it lies."
	case incubation.Swapped:
		return "It seems to lie where another probe belongs. Look which is which."
	}
	return ""
}
