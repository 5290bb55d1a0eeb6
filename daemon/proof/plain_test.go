package proof_test

import (
	"math"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A plain threshold is what a simpler alarm would do, to compare with: it goes
// off as soon as one raw value, offset not applied, of a probe in a cabinet or
// one of its boxes is plainLimit or more from the dial, or no value has come
// from a probe for plainSilence. It knows no quality, delay or cause, and takes
// every value that the decoders let through.
const (
	plainLimit   = 1.5 // K
	plainSilence = time.Hour
)

type plain struct {
	h     *house
	aims  map[string]float64 // by probe; none: silence alone
	last  map[string]time.Time
	value map[string]float64 // the newest, for what nobody else keeps
	first time.Time          // it went off; zero: it has not
}

func newPlain(h *house) *plain {
	p := &plain{h: h, aims: map[string]float64{}, last: map[string]time.Time{}, value: map[string]float64{}}
	for _, w := range h.wires {
		switch w.place {
		case "box-1", "box-2", "box-3", cool:
			p.aims[w.id] = setpoints()[cool]
		case "box-4", "box-5", warm:
			p.aims[w.id] = setpoints()[warm]
		}
	}
	return p
}

// arm forgets what was.
func (p *plain) arm() { p.first = time.Time{} }

func (p *plain) hear(o sensors.Outcome) {
	if o.Fault != nil {
		return
	}
	now := time.Now()
	p.last[o.Probe], p.value[o.Probe] = now, float64(o.Reading.Celsius)
	aim, ok := p.aims[o.Probe]
	if ok && o.Reading.Has&incubation.Temperature != 0 &&
		math.Abs(float64(o.Reading.Celsius)-aim) >= plainLimit && p.first.IsZero() {
		p.first = now
	}
}

func (p *plain) tick() {
	for _, last := range p.last {
		if time.Since(last) >= plainSilence && p.first.IsZero() {
			p.first = time.Now()
		}
	}
}

// forget has another probe take one's place.
func (p *plain) forget(before, now string) {
	p.aims[now] = p.aims[before]
	delete(p.aims, before)
	delete(p.last, before)
}
