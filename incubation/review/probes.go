package review

import (
	"encoding/json"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A probeKey tells one row of a record's probes from another.
type probeKey struct {
	probe, place           string
	position               incubation.Position
	offset, gain, accuracy float64
	since                  time.Time // of the placement
}

// row gives the index of the probe's row, a new one if need be, and carries it
// on to the end of a stretch.
func (in *recording) row(p incubation.Placement, part Span) int {
	key := probeKey{p.Probe, p.Stay.Place, p.Position, p.Offset, p.Gain, p.Accuracy, p.Stay.From}
	i, ok := in.rows[key]
	if ok && !in.out.Probes[i].To.Equal(part.From.UTC()) {
		ok = false // the eggs were elsewhere meanwhile
	}
	if !ok {
		i = len(in.out.Probes)
		in.rows[key] = i
		in.out.Probes = append(in.out.Probes, Probe{
			Probe: p.Probe, Place: p.Stay.Place, Position: p.Position, From: part.From.UTC(),
			Counted: []Span{}, Calibrated: in.a.calibrated(p), AccuracyKelvin: in.a.accuracy(p),
			OffsetKelvin: p.Offset, Gain: p.Gain,
			HumidityOffset: p.Humidity.Offset, HumidityGain: p.Humidity.Gain,
		})
		if in.a.Series {
			in.series[i] = NewThinner(in.out.From, in.out.To, in.a.Points)
		}
	}
	in.out.Probes[i].To = part.To.UTC()
	return i
}

// count notes in which parts of a stretch a probe's readings were the record.
func (in *recording) count(row int, open []Span, part Span, gaps []Span) {
	p := &in.out.Probes[row]
	for _, s := range Both(open, part.without(gaps)) {
		s = Span{s.From.UTC(), s.To.UTC()}
		if n := len(p.Counted); n > 0 && p.Counted[n-1].To.Equal(s.From) {
			p.Counted[n-1].To = s.To
			continue
		}
		p.Counted = append(p.Counted, s)
	}
}

// accuracy is how far a placed probe may be off: as written down, or as its
// maker states.
func (a Asked) accuracy(p incubation.Placement) float64 {
	if p.Accuracy == 0 && a.Accuracy != nil {
		return a.Accuracy(p.Probe)
	}
	return p.Accuracy
}

// calibrated reports whether the probe had been compared in temperature by the
// time of a placement.
func (a Asked) calibrated(p incubation.Placement) bool {
	return slices.ContainsFunc(a.Book.Entries, func(e book.Entry) bool {
		if e.Kind != book.KindCalibrated || e.At.After(p.Stay.From) || a.Book.Voided[e.Seq] ||
			slices.Contains(a.Book.Skipped, e.Seq) {
			return false
		}
		var d book.CalibratedData
		return json.Unmarshal(e.Data, &d) == nil && d.Probe == p.Probe && len(d.Celsius) > 0
	})
}
