package review

import "time"

// Inner gives the innermost limit of a record on one side, stretch by stretch,
// in order: the lowest of the upper limits, or the highest of the lower ones,
// that were in force.
func (r *Record) Inner(high bool) []Limit {
	var cuts []time.Time
	for _, l := range r.Limits {
		if l.High == high {
			cuts = append(cuts, l.From, l.To)
		}
	}
	if cuts == nil {
		return nil
	}
	var out []Limit
	for _, part := range between(cuts) {
		best := -1
		for i, l := range r.Limits {
			if l.High != high || part.From.Before(l.From) || !part.From.Before(l.To) {
				continue
			}
			if best < 0 || high == (l.Celsius < r.Limits[best].Celsius) && l.Celsius != r.Limits[best].Celsius {
				best = i
			}
		}
		if best < 0 {
			continue
		}
		l := r.Limits[best]
		if n := len(out); n > 0 && out[n-1].Rule == l.Rule && out[n-1].Celsius == l.Celsius && out[n-1].To.Equal(part.From) {
			out[n-1].To = part.To
			continue
		}
		l.From, l.To = part.From, part.To
		out = append(out, l)
	}
	return out
}
