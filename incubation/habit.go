package incubation

import "math"

// A habit is how the temperature of a place wanders when nobody touches it: by
// rate in the first hour and with the root of time, and about its mean by most.
// In other words, an Ornstein-Uhlenbeck process: its sd, and how that grows.
type habit struct {
	most float64 // K
	rate float64 // K in an hour
}

// sd is how far the temperature may be from the line at share x of a gap, K,
// given what was read at its ends.
func (h habit) sd(g gap, x float64) float64 {
	if h.most <= 0 || h.rate <= 0 {
		return 0
	}
	whole := h.most * h.most
	fade := h.rate * h.rate / whole * (g.to - g.from) * 24
	// Squared correlations with the reading before and the one behind.
	p, q := math.Exp(-fade*x), math.Exp(-fade*(1-x))
	switch g.open {
	case before:
		p = 0
	case after:
		q = 0
	}
	return math.Sqrt(whole * (1 - p) * (1 - q) / max(1-p*q, 1e-12))
}

// A wander is what a record has shown of how its temperature wanders.
type wander struct {
	hour, day   float64 // sums of squared differences over an hour and a day, K²
	hours, days float64 // how many
}

const (
	hourSteps = 6
	daySteps  = 144
)

// learn takes the newest step of a run.
func (w *wander) learn(r *run) {
	n := len(r.steps) - 1
	if n >= hourSteps {
		d := float64(r.steps[n] - r.steps[n-hourSteps])
		w.hour += d * d
		w.hours++
	}
	if n >= daySteps {
		d := float64(r.steps[n] - r.steps[n-daySteps])
		w.day += d * d
		w.days++
	}
}

const (
	// habitDays is how much of a record weighs as much as what the profile
	// says of any place, days.
	habitDays = 2
	// steadiest is the least that any place is taken to wander, K. Both are
	// judgement.
	steadiest = 0.1
)

// habit is how the places of this record wander, as far as it shows.
func (t *Track) habit() habit {
	r := t.ensemble.Profile.Record
	h := habit{most: r.GapMost.Value, rate: r.Gap.Value}
	w := t.wander
	if w.days == 0 || h.most <= 0 || h.rate <= 0 {
		return h
	}
	recorded := w.days / daySteps
	blend := func(profile, here float64) float64 {
		here = max(here, steadiest)
		return math.Exp((habitDays*math.Log(profile) + recorded*math.Log(here)) / (habitDays + recorded))
	}
	// What lies a day apart differs by twice the variance, as far as a day
	// shows it; drifts over weeks are in the spread about the sources' means.
	daily := w.day / w.days / 2
	return habit{
		most: blend(h.most, math.Sqrt(max(daily, t.variance()))),
		rate: blend(h.rate, math.Sqrt(w.hour/w.hours)),
	}
}

// variance of the record about the mean of each source, K².
func (t *Track) variance() float64 {
	sum, n := 0.0, 0.0
	for _, s := range t.sources {
		if s.n > 0 {
			sum += s.square - s.sum*s.sum/s.n
			n += s.n
		}
	}
	return sum / max(n, 1)
}
