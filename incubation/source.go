package incubation

import (
	"math"
	"strings"
)

// A source is what a stretch of the record was measured by: who shares it
// shares its errors.
type source struct {
	probe    string // several, joined by probeSeparator: their mean
	position Position
	accuracy float64
	shelf    string
	// What it said, about reference.
	n, sum, square float64
}

// source gives the number of a block's source, a new one if need be.
func (t *Track) source(b Block) int {
	for i, s := range t.sources {
		if s.probe == b.Probe && s.position == b.Position && s.accuracy == b.Accuracy && s.shelf == b.Shelf {
			return i
		}
	}
	t.sources = append(t.sources, source{
		probe: b.Probe, position: b.Position, accuracy: b.Accuracy, shelf: b.Shelf,
	})
	return len(t.sources) - 1
}

// probes gives the probes of a source, and how far the error of each, one sd,
// moves it. The mean of n probes that are off by as much each, independently,
// is off by the mean of their errors; its accuracy is already that of the
// mean.
func (s source) probes() (ids []string, each float64) {
	accuracy := s.accuracy
	if accuracy <= 0 {
		accuracy = UnknownAccuracy
	}
	ids = strings.Split(s.probe, probeSeparator)
	return ids, accuracy / 2 / math.Sqrt(float64(len(ids)))
}

// errors gives each member's error of a source: the egg less what was
// measured, K.
func (t *Track) errors(s source) []float64 {
	out := make([]float64, len(t.ensemble.Members))
	probes, each := s.probes()
	each *= t.doubts(OfProbe)
	for _, probe := range probes {
		for i, z := range t.ensemble.probe(probe) {
			out[i] += each * z
		}
	}
	if shelf, learned := t.shelf(s); learned {
		for i, z := range t.ensemble.normals(causeOf("shelf", s.shelf)) {
			out[i] += shelf.Kelvin + t.doubts(OfPosition)*shelf.SD*z
		}
		return out
	}
	position := t.doubts(OfPosition) * t.ensemble.Profile.Record.position(s.position)
	for i := range out {
		out[i] += position * t.ensemble.Members[i].Position
	}
	return out
}
