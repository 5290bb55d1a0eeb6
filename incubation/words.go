package incubation

// variedSD is from where on a record is said to have varied: sd of temperature
// over the TSP by development, K. A thermostat that swings by half a degree
// either way has 0.35. Judgement.
const variedSD = 0.5

// standstill is said of an egg that does not come to its TSP within a year as
// things stand: what its temperature would make of it there is no forecast.
const standstill = "no telling: hardly any development"

// words says the sex interval in a keeper's words. Sexes are only named as far
// as the whole interval goes.
func words(state TSPState, s Sex, varied bool) string {
	out := leaning(s)
	switch state {
	case TSPBefore:
		out = "forecast: " + out
	case TSPOpen:
		out += ", not settled yet"
	}
	if varied {
		out += " (temperature varied: extrapolated)"
	}
	return out
}

func leaning(s Sex) string {
	switch {
	case s.High <= 0.05:
		return "almost surely female"
	case s.High <= 0.25:
		return "likely female"
	case s.High < 0.5:
		return "leaning female"
	case s.Low >= 0.75:
		return "likely male"
	case s.Low > 0.5:
		return "leaning male"
	}
	return "either sex"
}
