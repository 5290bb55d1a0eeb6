package monitor

import (
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// heard is how far a probe is believed.
type heard struct {
	stream sensors.Stream
	// verdict is what its neighbours say of the probe; zero: nothing.
	verdict  incubation.Quality
	because  string // a sentence for the keeper
	partners string // of a swap: both
	company  company
	block    taker
	own      incubation.Quality // what the stream said of the newest reading
	// believed is the newest reading that is no spike, before the newest of
	// all. Both corrected.
	believed, before incubation.Reading
	raw              incubation.Reading // the newest, uncorrected
	came             time.Time          // when a step began that the newest reading confirmed
}

// doubt gives a raw reading its quality, once and for all: it is stored with
// it. What its own stream says of it counts before what is known of the probe.
// A fault, and nothing to store, where it is no measurement.
func (p *probeState) doubt(r *incubation.Reading) *sensors.Fault {
	q, fault := p.trusted.stream.Judge(p.probe, *r)
	if fault != nil {
		return fault
	}
	p.trusted.own, p.trusted.raw = q, *r
	if v := p.trusted.verdict; v.Doubt() > q.Doubt() {
		q = v
	}
	r.Quality = q
	return nil
}

// hear takes a corrected reading as the newest.
func (p *probeState) hear(r incubation.Reading) {
	p.trusted.before = p.latest
	p.latest = r
	if r.Quality != incubation.Spiked {
		p.trusted.believed = r
	}
	p.trusted.came = p.trusted.stream.Came()
	if r.Has&incubation.Temperature != 0 && !p.trusted.own.Broken() {
		p.trusted.block.sum += float64(r.Celsius)
		p.trusted.block.n++
		p.trusted.company.ripple.see(r.Time, float64(r.Celsius))
	}
}

func (h *heard) shift(d time.Duration) {
	h.stream.Shift(d)
	for _, t := range []*time.Time{&h.believed.Time, &h.before.Time, &h.came, &h.company.ripple.at, &h.company.rest} {
		if !t.IsZero() {
			*t = t.Add(d)
		}
	}
}

// twice is the cooler of the newest two readings, whatever their quality: what
// a single reading never makes warm. False: there are no two.
func (p ProbeNow) twice() (incubation.Celsius, bool) {
	const has = incubation.Temperature
	if p.Stale || p.Latest.Has&has == 0 || p.before.Has&has == 0 ||
		p.Latest.Time.Sub(p.before.Time) > staleAfter(p.Interval) {
		return 0, false
	}
	return min(p.Latest.Celsius, p.before.Celsius), true
}

// A gathering puts together what the probes of a place say: that of probes
// that measure it, or, where none does, of those that no longer do.
type gathering struct {
	celsius, humidity mean
	warmest, coolest  *incubation.Celsius
	doubt             incubation.Quality // the least
}

func (g *gathering) add(r incubation.Reading) {
	if g.celsius.n+g.humidity.n == 0 || r.Quality.Doubt() < g.doubt.Doubt() {
		g.doubt = r.Quality
	}
	if r.Has&incubation.Temperature != 0 {
		g.celsius.add(float64(r.Celsius))
		if g.warmest == nil || r.Celsius > *g.warmest {
			g.warmest = ptr(r.Celsius)
		}
		if g.coolest == nil || r.Celsius < *g.coolest {
			g.coolest = ptr(r.Celsius)
		}
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		g.humidity.add(float64(r.Humidity))
	}
}

// gather fills in what the place's probes say.
func (n *PlaceNow) gather(probes []ProbeNow) {
	var sound, broken gathering
	for _, p := range probes {
		if p.Place != n.ID {
			continue
		}
		n.Probes = append(n.Probes, p.ID)
		if p.Latest.Time.After(n.Read) {
			n.Read = p.Latest.Time
		}
		if hot, ok := p.twice(); ok && (n.Hottest == nil || hot > *n.Hottest) {
			n.Hottest, n.hot = ptr(hot), p.before.Time
		}
		r, ok := p.fresh()
		switch {
		case !ok:
		case r.Quality.Broken():
			broken.add(r)
		default:
			sound.add(r)
			if !p.came.IsZero() && (n.came.IsZero() || p.came.Before(n.came)) {
				n.came = p.came
			}
		}
	}
	g := sound
	if g.celsius.n == 0 {
		if g = broken; sound.humidity.n > 0 {
			g.humidity = sound.humidity
		}
	}
	n.Warmest, n.Coolest = g.warmest, g.coolest
	if n.Celsius, n.Humidity = g.values(); n.Celsius != nil {
		n.Doubt = g.doubt
	}
}

func (g *gathering) values() (c *incubation.Celsius, h *incubation.Humidity) {
	if v, ok := g.celsius.value(); ok {
		c = ptr(incubation.Celsius(v))
	}
	if v, ok := g.humidity.value(); ok {
		h = ptr(incubation.Humidity(v))
	}
	return c, h
}
