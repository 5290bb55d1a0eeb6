package incubation

import "time"

// Until gives the record as it was at a time: what was measured by then, in
// the steps that were over, with what was learned of shelves and outages since.
// Time outside the limits is not in it. The track stays as it is.
func (t *Track) Until(at time.Time) *Track {
	out := NewTrack(t.ensemble, t.laid)
	out.shelves, out.outages, out.without = t.shelves, t.outages, t.without
	for _, s := range t.sources { // gaps know them by their place
		s.n, s.sum, s.square = 0, 0, 0
		out.sources = append(out.sources, s)
	}
	end := t.day(at)
	for _, p := range t.parts {
		if p.run == nil {
			if p.gap.to <= end {
				out.parts = append(out.parts, p)
			}
			continue
		}
		r := p.run
		for k, c := range r.steps {
			if r.at(k+1) > end+1e-9 {
				break
			}
			s := t.sources[r.source]
			b := Block{
				Start: t.time(r.at(k)), Celsius: Celsius(c), Covered: 1 - r.quiet(k),
				Probe: s.probe, Position: s.position, Accuracy: s.accuracy, Shelf: s.shelf,
			}
			out.step(out.source(b), r.at(k), float64(c), r.quiet(k))
			out.last = b
		}
	}
	return out
}
