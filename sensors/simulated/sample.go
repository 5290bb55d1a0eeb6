package simulated

import (
	"context"
	"math"
	"math/rand/v2"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// Probes lists every probe.
func (r *Room) Probes() []sensors.Probe {
	out := make([]sensors.Probe, len(r.spec.Probes))
	for i, p := range r.spec.Probes {
		out[i] = p.Probe
		out[i].Interval = r.spec.interval()
		out[i].Source = "simulated"
	}
	return out
}

// Sample lives on to now and gives what every probe said on the way, oldest
// first: one outcome per probe and interval, or per coarse interval if now is
// at least that far off. It neither waits nor goes backwards.
func (r *Room) Sample(_ context.Context, now time.Time) []sensors.Outcome {
	r.mu.Lock()
	defer r.mu.Unlock()
	every := r.spec.interval()
	if c := r.spec.Coarse; c > every && now.Sub(r.asked) >= c {
		every = c
	}
	var out []sensors.Outcome
	for t := r.next(every); !t.After(now); t = r.next(every) {
		r.runTo(int64(t.Sub(r.start) / r.step))
		r.asked = t
		for i := range r.spec.Probes {
			out = append(out, r.read(i, t))
		}
	}
	return out
}

// next gives the first time of the grid behind what was asked for.
func (r *Room) next(every time.Duration) time.Time {
	return r.start.Add((r.asked.Sub(r.start)/every + 1) * every)
}

// read gives what one probe says at the model's present time.
func (r *Room) read(i int, t time.Time) sensors.Outcome {
	p := &r.spec.Probes[i]
	dice := r.dice(uint64(i)+1, uint64(r.heat.count))
	out := sensors.Outcome{Probe: p.ID, Time: t}
	if cause := r.trouble(p.ID, t, dice); cause != "" {
		out.Fault = &sensors.Fault{Probe: p.ID, Cause: cause}
		return out
	}
	air, felt := r.felt(p, t)
	c := felt + p.Bias + p.Noise*dice.NormFloat64()
	if p.Resolution > 0 {
		c = math.Round(c/p.Resolution) * p.Resolution
	}
	out.Reading = incubation.Reading{Probe: p.ID, Time: t, Has: p.Has, Celsius: incubation.Celsius(c)}
	if p.Has&incubation.RelativeHumidity != 0 {
		out.Reading.Humidity = air.humidity(felt, dice.Float64())
		if out.Reading.Humidity >= 1 {
			out.Reading.Quality = incubation.Saturated
		}
	}
	return out
}

// felt gives the node whose air a probe is in, and the temperature it feels.
func (r *Room) felt(p *Probe, t time.Time) (*node, float64) {
	i := r.index[p.Place]
	n := &r.nodes[i]
	c, outer := r.heat.celsius[i], r.outer(n, t)
	if p.Position == incubation.BoxAir {
		c = (c + r.heat.celsius[outer]) / 2
	}
	share := r.slipped(p.ID, t)
	if share < 0.5 || r.broken(Lidless, n.place, t) {
		n = &r.nodes[outer]
	}
	return n, share*c + (1-share)*r.heat.celsius[outer]
}

// humidity gives the place's humidity at its temperature, in steps of 0.1 %.
func (n *node) humidity(celsius, u float64) incubation.Humidity {
	h := n.air.Humidity + n.air.PerKelvin*(celsius-n.air.Usual) + 0.01*(u-0.5)
	return incubation.Humidity(math.Round(min(1, max(0, h))*1000) / 1000)
}

// dice gives chance that depends on the seed, the stream and the count only,
// not on what was drawn before.
func (r *Room) dice(stream, count uint64) *rand.Rand {
	return rand.New(rand.NewPCG(r.seed^stream<<48, count))
}
