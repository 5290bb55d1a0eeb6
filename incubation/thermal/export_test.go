package thermal

// TheilSen is theilSenWithin for tests: slope and its interval.
func TheilSen(x, y []float64, z float64) (slope, low, high float64, ok bool) {
	l, ok := theilSenWithin(x, y, z)
	return l.slope, l.low, l.high, ok
}
